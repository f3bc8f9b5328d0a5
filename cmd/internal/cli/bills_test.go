package cli

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"feedproof/schema"
)

// billLine is a part of a bill of materials of checklist/fittings.
type billLine struct {
	system, no, place, part, spec string
	car                           string   // that it is fitted to
	ends                          []string // by a, b, c ..
	joins                         [][3]string
	fuel                          string
}

// position is where the part goes: its place with its number in the bill.
func (l billLine) position() string { return strings.TrimRight(l.place, " 0123456789") + " " + l.no }

func bills(t *testing.T) []billLine {
	t.Helper()
	f, err := os.Open("../../../checklist/fittings/testdata/bom.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil || len(rows) < 100 {
		t.Fatalf("%d rows, %v", len(rows), err)
	}
	var out []billLine
	for _, r := range rows[1:] {
		l := billLine{system: r[0], no: r[1], place: r[2], part: r[3], spec: r[4], fuel: r[12]}
		for i, end := range r[6:11] {
			if end != "" {
				l.ends = append(l.ends, string(rune('a'+i))+"="+end)
			}
		}
		for _, j := range strings.Fields(r[11]) {
			own, other, _ := strings.Cut(j, ":")
			no, end, _ := strings.Cut(other, ".")
			l.joins = append(l.joins, [3]string{own, no, end})
		}
		out = append(out, l)
	}
	return out
}

var (
	billHose   = regexp.MustCompile(`^(J30R\d+|J2260|PTFE-C|FKM-B)\b`)
	billFilter = regexp.MustCompile(`(\d+) µm`)
	billBar    = regexp.MustCompile(`(?:print:|maker) (\d+) bar`)
)

// receive is the command by which the part of a line comes in.
func (l billLine) receive() []string {
	kind, more := "other", []string(nil)
	text := l.part + ", " + l.spec
	switch {
	case billHose.MatchString(l.part):
		kind, more = "hose", []string{"--hose-kind", billHose.FindString(l.part), "--date-code", "2026-01"}
	case strings.HasPrefix(l.part, "stainless tube"):
		kind, more = "hose", []string{"--hose-kind", "SS-TUBE"}
	case billFilter.MatchString(l.part) && l.place != "module":
		kind, more = "filter", []string{"--fineness", billFilter.FindStringSubmatch(l.part)[1] + " um"}
	}
	if m := billBar.FindStringSubmatch(l.spec); m != nil && kind == "hose" {
		more = append(more, "--working", m[1]+" bar")
	}
	if strings.Contains(l.spec, "E85") && kind == "hose" {
		more = append(more, "--ethanol", "yes", "--papers", l.spec)
	}
	if strings.Contains(text, "FKM") {
		more = append(more, "--seal", "FKM")
	}
	for _, e := range l.ends {
		more = append(more, "--end", e)
	}
	return append([]string{"part", "receive", l.system + "-" + l.no, "--part", kind, "--name", l.part}, more...)
}

// fit is the command by which it goes in.
func (l billLine) fit(at map[string]string) []string {
	out := []string{"fit", l.car, l.position(), l.system + "-" + l.no}
	for _, j := range l.joins {
		out = append(out, "--join", j[0]+"="+at[j[1]]+"."+j[2])
	}
	return out
}

var ethanolOf = map[string]string{"E10": "0 to 10 %", "E0 to E85": "0 to 85 %", "E70 to E85": "70 to 85 %"}

// billFindings builds a bill through the commands and says what the rules of
// fittings find above NOTE.
func billFindings(t *testing.T, run func(...string) string, lines []billLine) []schema.Finding {
	t.Helper()
	car := lines[0].car
	run("vehicle", "add", car, "--what", "an invented car", "--road", "no", "--emission", "no", "--tank-fuelled", "yes")
	run("visit", "open", car, "--kind", "a")
	at := map[string]string{}
	for _, l := range lines {
		at[l.no] = l.position()
	}
	for _, l := range lines {
		if l.car == l.system { // a second car takes parts of the same lots
			run(l.receive()...)
		}
		run(l.fit(at)...)
	}
	run("plan", car, "--power", "200 kW", "--boost", "0.8 bar", "--rpm", "6500 rpm", "--ethanol", ethanolOf[lines[0].fuel], "--altitude", "300 m", "--level", "25 %", "--basis", "crank", "--bsfc", "0.36 kg/kWh on 10 %",
		"--regulator", "returnless", "--base", "3.5 bar", "--injectors", "INJ-1050", "--injector-count", "4", "--pump", "PUMP-L", "--feed-bore", "8 mm", "--feed-length", "4 m")
	var checked struct {
		Findings []schema.Finding `json:"findings"`
	}
	text := run("check", car, "--json")
	if err := json.Unmarshal([]byte(text), &checked); err != nil || len(checked.Findings) == 0 {
		t.Fatalf("check %s: %v: %s", car, err, text)
	}
	return slices.DeleteFunc(checked.Findings, func(f schema.Finding) bool {
		return !slices.Contains([]string{"L47", "L48", "L49", "L50", "L51"}, f.Rule) || f.Severity <= schema.Note
	})
}

// TestBills fits the four bills of materials through the commands: the planted
// mistakes are named, the right joints are silent. Source: the bills, invented
// systems whose joints two hands checked by the mating rules.
func TestBills(t *testing.T) {
	var out bytes.Buffer
	dir := t.TempDir()
	w := World{In: strings.NewReader(""), Out: &out, Err: &out, Dir: dir, Now: func() time.Time { return time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC) }}
	w.Getenv = func(name string) string { return map[string]string{"FEEDPROOF_SHOP": filepath.Join(dir, "shop")}[name] }
	run := func(args ...string) string {
		t.Helper()
		out.Reset()
		if code := Main(w, args); code != exitDone && args[0] != "check" {
			t.Fatalf("%q: exit code %d: %s", args, code, out.String())
		}
		return out.String()
	}
	run("demo", "--dir", filepath.Join(dir, "shop"))
	run("use", "tech-1")
	without := func(system, car string, nos ...string) []billLine {
		var lines []billLine
		for _, l := range bills(t) {
			if l.system == system && !slices.Contains(nos, l.no) {
				l.car = car
				lines = append(lines, l)
			}
		}
		return lines
	}
	for _, c := range []struct {
		what  string
		lines []billLine
		want  []string // rule, severity, and part of what is said
	}{
		{"Basalt", without("Basalt", "Basalt"), nil},
		{"Gneiss", without("Gneiss", "Gneiss"), nil},
		{"Rowan: 30R9 in the tank", without("Rowan", "Rowan"), []string{"L49 BLOCK J30R9"}},
		{"Larch: a 45° union between two 37° nuts", without("Larch", "Larch"), []string{"L47 BLOCK flare37-f:-8 on flare45-m:1/2", "L47 BLOCK flare37-f:-8 on flare45-m:1/2"}},
		{"Rowan without its sensor", without("Rowan", "Rowan-22", "22"), []string{"L47 BLOCK d, npt-f:1/8, joins nothing", "L49 BLOCK J30R9"}},
		{"Gneiss without an adapter", withoutAdapter(without("Gneiss", "Gneiss-36", "36")), []string{"L47 HOLD flare37-f:-10 on orb-p:-10"}},
	} {
		var got []string
		for _, f := range billFindings(t, run, c.lines) {
			got = append(got, f.Rule+" "+f.Severity.String()+" "+f.Measured)
		}
		slices.Sort(got)
		if !slices.EqualFunc(got, c.want, strings.HasPrefix) {
			t.Errorf("%s: %q, want %q", c.what, got, c.want)
		}
	}
}

// withoutAdapter joins the overflow hose, number 37, to the tank's port itself.
func withoutAdapter(lines []billLine) []billLine {
	for i, l := range lines {
		if l.no == "37" {
			lines[i].joins = append([][3]string{{"a", "10", "d"}}, slices.DeleteFunc(slices.Clone(l.joins), func(j [3]string) bool { return j[1] == "36" })...)
		}
	}
	return lines
}
