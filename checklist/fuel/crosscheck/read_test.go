package crosscheck

import (
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"feedproof/schema/quantity"
)

// small is a pump, a hose, a junction with a demand, a tank; its units vary.
func small(options string, flow, length, diameter, roughness, head float64) string {
	return fmt.Sprintf(`[TITLE]
small
[JUNCTIONS]
 A 0 0
 B %[1]g %[2]g ;comment
[RESERVOIRS]
 T 0
[TANKS]
 U %[3]g %[3]g 0 10 1
[PIPES]
 L1 A B %[4]g %[5]g %[6]g 2 Open
 L2 B U %[4]g %[5]g %[6]g 1 Open
[PUMPS]
 P T A HEAD C
[CURVES]
 C %[7]g %[8]g
[OPTIONS]
 HEADLOSS D-W
 VISCOSITY 1.0
 %[9]s
`, length/10, flow/4, head/20, length, diameter, roughness, flow, head, options)
}

// One network in the units of both systems is one network: 10 L/min, 3 m, 9 mm,
// 0.0015 mm, 40 m. The conversions are the exact ones, the reader's those of the
// engine, which are rounded to five figures.
func TestUnits(t *testing.T) {
	const litresPerMinute, foot = 10.0, 0.3048
	cubicFeet := litresPerMinute / 60 / 1000 / (foot * foot * foot)
	metric := []struct {
		unit string
		per  float64
	}{{"LPM", 10}, {"LPS", 10.0 / 60}, {"CMH", 0.6}, {"CMD", 14.4}, {"MLD", 0.0144}, {"CMS", 1e-2 / 60}}
	us := []struct {
		unit string
		per  float64
	}{{"CFS", cubicFeet}, {"GPM", cubicFeet * 448.8312}, {"MGD", cubicFeet * 0.6463169}, {"AFD", cubicFeet * 1.983471}, {"IMGD", cubicFeet * 0.5381713}}
	reference, heads := 0.0, 0.0
	check := func(unit, text string) {
		m := readString(t, text)
		flow, head := float64(m.Flow("P"))/quantity.LPerMin, m.Head("B")
		if reference == 0 {
			reference, heads = flow, head
		}
		if math.Abs(flow/reference-1) > 1e-4 || math.Abs(head/heads-1) > 1e-4 {
			t.Errorf("%s: %.6f L/min and %.6f m, in L/min %.6f and %.6f", unit, flow, head, reference, heads)
		}
	}
	for _, u := range metric {
		check(u.unit, small("UNITS "+u.unit, u.per, 3, 9, 0.0015, 40))
	}
	for _, u := range us {
		check(u.unit, small("UNITS "+u.unit, u.per, 3/foot, 9/25.4, 0.0015e-3/foot*1e3, 40/foot))
	}
	if reference < 1 {
		t.Errorf("nothing flows: %g L/min", reference)
	}
}

func readString(t *testing.T, text string) *Model {
	t.Helper()
	m, err := Read(strings.NewReader(text))
	if err != nil {
		t.Fatal(err)
	}
	if err := m.Network.Solve(); err != nil {
		t.Fatal(err)
	}
	return m
}

// A valve setting in psi, kPa and metres is one pressure.
func TestPressureUnits(t *testing.T) {
	text := func(units, setting string, foot, inch, flow float64) string {
		return fmt.Sprintf("[JUNCTIONS]\nA 0 0\nB 0 %g\n[RESERVOIRS]\nT %g\n[PIPES]\nL T A %g %g 0.01 0 Open\n[VALVES]\nV A B %g PRV %s 0\n[OPTIONS]\nUNITS %s\nHEADLOSS D-W\n",
			flow, 50*foot, foot, 20*inch, 20*inch, setting, units)
	}
	for _, c := range []struct{ name, text string }{
		{"metres", text("LPM", "20", 1, 1, 5)},
		{"kPa", text("LPM\nPRESSURE KPA", fmt.Sprint(20/0.3048*0.4333*6.895), 1, 1, 5)},
		{"psi", text("GPM", fmt.Sprint(20/0.3048*0.4333), 1/0.3048, 1/25.4, 5/3.785411784)},
	} {
		if h := readString(t, c.text).Head("B"); math.Abs(h-20) > 1e-3 {
			t.Errorf("%s: the valve holds %.5f m, set to 20", c.name, h)
		}
	}
}

// The friction law is continuous in value and slope where its parts meet.
func TestFrictionMeets(t *testing.T) {
	for _, roughness := range []float64{0, 1e-5, 1e-3, 0.02} {
		for _, re := range []float64{2000, 4000} {
			a, sa := Friction(re*(1-1e-9), roughness)
			b, sb := Friction(re*(1+1e-9), roughness)
			if math.Abs(a/b-1) > 1e-5 || math.Abs(sa-sb) > 2e-3 {
				t.Errorf("Re %g, e/D %g: %.8g and %.8g, slopes %.5g and %.5g", re, roughness, a, b, sa, sb)
			}
		}
		for re := 100.0; re < 1e7; re *= 1.3 {
			f, slope := Friction(re, roughness)
			up, _ := Friction(re*1.0001, roughness)
			if d := math.Log(up/f) / math.Log(1.0001); math.Abs(d-slope) > 2e-3 && math.Abs(re-2000) > 1 && math.Abs(re-4000) > 1 {
				t.Errorf("Re %g, e/D %g: slope %.5g, by difference %.5g", re, roughness, slope, d)
			}
		}
	}
}

func TestReadErrorsNameTheLine(t *testing.T) {
	good := small("UNITS LPM", 10, 3, 9, 0.0015, 40)
	replace := func(old, new string) string {
		out := strings.Replace(good, old, new, 1)
		if out == good {
			t.Fatalf("%q is not in the text", old)
		}
		return out
	}
	for say, text := range map[string]string{
		"line 4, [JUNCTIONS]: A: \"x\" is not a number":     replace(" A 0 0", " A x 0"),
		"[PIPES]: L1: node Q is not in the file":            replace("L1 A B", "L1 A Q"),
		"[PIPES]: L1: 5 fields, at least 6":                 replace(" 0.0015 2 Open", ""),
		"link L1 is in the file twice":                      replace(" L2 B U", " L1 B U"),
		"node A is in the file twice":                       replace("[RESERVOIRS]", "A 1 1\n[RESERVOIRS]"),
		"curve \"K\" is not in the file":                    replace("HEAD C", "HEAD K"),
		"pump by POWER is not read":                         replace("HEAD C", "POWER 3"),
		"valve type FCV is not read, only PRV and PSV":      good + "[VALVES]\nV A B 8 FCV 3 0\n",
		"section [PIPE] is not of the format":               replace("[PIPES]", "[PIPE]"),
		"[CONTROLS] changes the network":                    good + "[CONTROLS]\nLINK P CLOSED AT TIME 3\n",
		"head loss law H-W is not read":                     replace("D-W", "H-W"),
		"flow unit QPM is not known":                        replace("LPM", "QPM"),
		"text before the first section":                     "A 1 2\n",
		"no nodes":                                          "[TITLE]\n[OPTIONS]\nHEADLOSS D-W\n",
		"pattern Z is not in the file":                      replace(" A 0 0", " A 0 0 Z"),
		"[DEMANDS]: node Z is not in the file":              good + "[DEMANDS]\nZ 1\n",
		"demand model PDA is not read":                      replace("HEADLOSS D-W", "HEADLOSS D-W\n DEMAND MODEL PDA"),
		"VISCOSITY: \"NONE\" is not a number above zero":    replace("VISCOSITY 1.0", "VISCOSITY none"),
		"a valve with the fixed status CLOSED is not read":  good + "[STATUS]\nV CLOSED\n[VALVES]\nV A B 8 PSV 3 0\n",
		"status \"HALF\" is not OPEN, CLOSED or a speed":    good + "[STATUS]\nP half\n",
		"pressure does not fall with flow between":          good + "[CURVES]\nC 12 50\n",
		"the three points of curve C do not fall steadily":  replace("C 10 40", "C 0 40\nC 1 50\nC 2 20"),
		"pressure unit BAR is not known":                    replace("UNITS LPM", "UNITS LPM\nPRESSURE BAR"),
		"a valve needs diameter, type and setting":          good + "[VALVES]\nV A B 8\n",
		"L1: a link needs two nodes":                        replace("L1 A B", "L1\n; "),
		"[EMITTERS]: node Z is not in the file":             good + "[EMITTERS]\nZ 1\n",
		"network: L1 has a bore, length, roughness or loss": replace("L1 A B 3", "L1 A B -3"),
	} {
		m, err := Read(strings.NewReader(text))
		if err == nil {
			err = m.Network.Solve()
		}
		if err == nil || !strings.Contains(err.Error(), say) {
			t.Errorf("%v, want %q in it", err, say)
		}
	}
}

// The flow units are the engine's, rounded to five figures. Closed pipes and pumps carry nothing; check valves, patterns, demands and
// statuses are read.
func TestStatusAndPatterns(t *testing.T) {
	good := small("UNITS LPM", 10, 3, 9, 0.0015, 40)
	base := readString(t, good)
	drawn := func(m *Model) float64 { return float64(m.Flow("L1")-m.Flow("L2")) / quantity.LPerMin }
	if d := drawn(base); math.Abs(d-2.5) > 1e-4 {
		t.Errorf("drawn %g L/min, demand 2.5", d)
	}
	for extra, want := range map[string]float64{
		"[DEMANDS]\nB 1\nB 3\n":                    4,
		"[PATTERNS]\n1 2 0.5\n":                    5,
		"[OPTIONS]\nDEMAND MULTIPLIER 3\n":         7.5,
		"[PATTERNS]\nN 0 1\n[DEMANDS]\nB 9 N\nB 1": 1,
	} {
		if d := drawn(readString(t, good+extra)); math.Abs(d-want) > 1e-5*want {
			t.Errorf("%q: drawn %g L/min, want %g", extra, d, want)
		}
	}
	if f := readString(t, good+"[STATUS]\nP CLOSED\n").Flow("P"); f != 0 {
		t.Errorf("a closed pump gives %v", f)
	}
	slow := readString(t, good+"[STATUS]\nP 0.8\n")
	if slow.Flow("P") >= base.Flow("P") {
		t.Errorf("at speed 0.8 the pump gives %v, at 1 %v", slow.Flow("P"), base.Flow("P"))
	}
	if f := readString(t, good+"[STATUS]\nL2 CLOSED\n").Flow("L2"); f != 0 {
		t.Errorf("a closed pipe carries %v", f)
	}
	back := strings.Replace(good, "L2 B U", "L2 U B", 1)
	back = strings.Replace(back, "1 Open", "1 CV", 1)
	if f := readString(t, back).Flow("L2"); math.Abs(float64(f)) > 1e-9 {
		t.Errorf("a check valve lets %v back", f)
	}
}

// Whatever the text, the reader answers with a model or an error, and the
// solver with checked numbers or an error.
func FuzzRead(f *testing.F) {
	f.Add(small("UNITS LPM", 10, 3, 9, 0.0015, 40))
	files, err := filepath.Glob("../../../testdata/networks/*.inp")
	if err != nil || len(files) == 0 {
		f.Fatalf("no seeds (%v)", err)
	}
	for _, file := range files {
		text, err := os.ReadFile(file)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(string(text))
	}
	f.Fuzz(func(t *testing.T, text string) {
		if len(text) > 1<<14 {
			return
		}
		m, err := Read(strings.NewReader(text))
		if err != nil || m.Network.Nodes() > 60 {
			return
		}
		if m.Network.Solve() == nil {
			if err := m.Network.Check(); err != nil {
				t.Errorf("an answer that fails its check: %v", err)
			}
		}
	})
}
