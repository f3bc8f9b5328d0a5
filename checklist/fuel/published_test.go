package fuel

import (
	"encoding/csv"
	"fmt"
	"math"
	"os"
	"path"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
)

// row is one published check point, by column name.
type checkRow map[string]string

func (r checkRow) key() string { return r["topic"] + " " + r["id"] }

// family answers rows of a topic whose id matches. It reads the row's inputs
// and gives the outputs in the row's order and units; NaN stands for an output
// of another formula than ours, which is passed over.
type family struct {
	topic  string
	id     *regexp.Regexp
	answer func(checkRow) ([]float64, error)
	within string // in place of the row's tolerance, where another row states it
}

func rows(topic, id string, answer func(checkRow) ([]float64, error)) family {
	return family{topic, regexp.MustCompile("^" + id + "$"), answer, ""}
}

func families() []family {
	var all []family
	for _, some := range [][]family{fuelFamilies, demandFamilies, injectorFamilies, lineFamilies, pumpFamilies, vapourFamilies, wireFamilies, tankFamilies, airFamilies, hammerFamilies,
		tightnessFamilies, surgeFamilies, tiltFamilies, wearFamilies, camFamilies, energyFamilies, waveFamilies} {
		all = append(all, some...)
	}
	return all
}

// TestPublished judges every row of a folder of published check values, one
// sub-test a row. FEEDPROOF_CHECKS names another folder. Sources stand in the
// rows. Rows that concern other packages, and bare data without a formula, are
// listed in testdata/elsewhere.txt; anything else that is not judged fails.
func TestPublished(t *testing.T) {
	folder, committed := os.Getenv("FEEDPROOF_CHECKS"), false
	if folder == "" {
		folder, committed = "../../testdata/published", true
	}
	files, err := filepath.Glob(filepath.Join(folder, "*.csv"))
	if err != nil || len(files) == 0 {
		t.Fatalf("no *.csv in %s (%v)", folder, err)
	}
	elsewhere := readElsewhere(t)
	judged, excused := 0, 0
	for _, file := range files {
		header, lines := readChecks(t, file)
		if header[0] == "Re" {
			judged += judgeFriction(t, filepath.Base(file), lines)
			continue
		}
		for _, r := range lines {
			if f := dispatch(r); f != nil {
				judged++
				t.Run(r.key(), func(t *testing.T) { judge(t, r, f) })
				continue
			}
			reason, listed := elsewhere.covers(r.key())
			if !listed {
				t.Errorf("%s: no formula answers it, and testdata/elsewhere.txt does not list it", r.key())
				continue
			}
			excused++
			t.Logf("%s: not answered here: %s", r.key(), reason)
		}
	}
	if judged == 0 {
		t.Error("no row was judged")
	}
	t.Logf("%d rows judged, %d answered elsewhere or out of reach", judged, excused)
	if committed && excused > mostExcused {
		t.Errorf("%d rows are out of reach or answered elsewhere, no more than %d: the list shrinks", excused, mostExcused)
	}
	for pattern, p := range elsewhere {
		if committed && !p.met {
			t.Errorf("testdata/elsewhere.txt lists %q, and no such row is left over", pattern)
		}
	}
}

// mostExcused is how many rows of the committed folder may be left to others.
const mostExcused = 71

func dispatch(r checkRow) *family {
	for _, f := range families() {
		if f.topic == r["topic"] && f.id.MatchString(r["id"]) {
			return &f
		}
	}
	return nil
}

// judge compares each output with the row's, within the row's tolerance and
// half a unit of the last printed digit.
func judge(t *testing.T, r checkRow, f *family) {
	got, err := f.answer(r)
	if err != nil {
		t.Fatal(err)
	}
	wants := outputs(r["output"])
	if len(wants) != len(got) {
		t.Fatalf("%d outputs %q, %d computed", len(wants), r["output"], len(got))
	}
	tolerance := r["tolerance"]
	if f.within != "" {
		tolerance = f.within
	}
	compared := 0
	for i, w := range wants {
		if math.IsNaN(got[i]) {
			continue
		}
		compared++
		slack := w.half + allowance(tolerance, r["unit"], w.value())
		if got[i] < w.low-slack || got[i] > w.high+slack || math.IsNaN(slack) {
			t.Errorf("output %d is %.10g, published %s (tolerance %q): %s", i+1, got[i], w.text, tolerance, r["source"])
		}
	}
	if compared == 0 {
		t.Error("no output was compared")
	}
}

// output is one published figure: a number, or a range low-high.
type output struct {
	text      string
	low, high float64
	half      float64 // half a unit of the last digit
}

func (o output) value() float64 { return (o.low + o.high) / 2 }

var (
	numberShape = regexp.MustCompile(`[-+]?\d+(?:\.\d+)?(?:[eE][-+]?\d+)?`)
	rangeShape  = regexp.MustCompile(`^(\d+(?:\.\d+)?)-(\d+(?:\.\d+)?)$`)
)

// outputs splits "749.85 | 0.105" or "f=0.02; hf=117 m" into figures.
func outputs(text string) []output {
	var out []output
	for _, part := range regexp.MustCompile(`[|;]`).Split(text, -1) {
		part = strings.TrimSpace(part)
		if m := rangeShape.FindStringSubmatch(part); m != nil {
			low, high := mustNumber(m[1]), mustNumber(m[2])
			out = append(out, output{part, low, high, 0})
			continue
		}
		for _, token := range figures(part) {
			v := mustNumber(token)
			out = append(out, output{token, v, v, halfDigit(token)})
		}
	}
	return out
}

// figures are the numbers of a part that stand by themselves: not within a
// name such as m3 or mm2, and not the step number of a name.
func figures(part string) []string {
	var out []string
	for _, at := range numberShape.FindAllStringIndex(part, -1) {
		if at[0] > 0 && regexp.MustCompile(`[A-Za-z0-9.]`).MatchString(part[at[0]-1:at[0]]) {
			continue
		}
		out = append(out, part[at[0]:at[1]])
	}
	return out
}

func mustNumber(s string) float64 {
	v, err := strconv.ParseFloat(s, 64)
	if err != nil {
		return math.NaN()
	}
	return v
}

// halfDigit is half a unit of the last digit of a number as printed.
func halfDigit(s string) float64 {
	mantissa, exponent, _ := strings.Cut(strings.ToLower(s), "e")
	_, decimals, _ := strings.Cut(mantissa, ".")
	power, _ := strconv.Atoi(exponent)
	return 0.5 * math.Pow(10, float64(power-len(decimals)))
}

// allowance reads a tolerance: "0.3 %", "1e-6 rel", "0.02 kg/m3", "exact",
// "range", "published .. up to 0.05 off". Without a figure it is 1e-6 of the value.
func allowance(text, unit string, value float64) float64 {
	text = strings.TrimSpace(text)
	if m := regexp.MustCompile(`range (\d[\d.]*)-(\d[\d.]*)`).FindStringSubmatch(text); m != nil {
		return math.Max(math.Abs(mustNumber(m[1])-value), math.Abs(mustNumber(m[2])-value))
	}
	m := regexp.MustCompile(`^(\d[\d.]*(?:e-?\d+)?)\s*([^\s;(]*)`).FindStringSubmatch(text)
	if m == nil {
		if off := regexp.MustCompile(`up to (\d[\d.]*) off`).FindStringSubmatch(text); off != nil {
			return mustNumber(off[1])
		}
		return 1e-6 * math.Abs(value)
	}
	size := mustNumber(m[1])
	switch {
	case m[2] == "%":
		return size / 100 * math.Abs(value)
	case m[2] == "rel" || m[2] == "same":
		return size * math.Abs(value)
	case m[2] == "mm" && unit == "m":
		return size / 1000
	}
	return size
}

// readChecks reads a table of check values.
func readChecks(t *testing.T, file string) (header []string, rows []checkRow) {
	t.Helper()
	f, err := os.Open(file)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	lines, err := csv.NewReader(f).ReadAll()
	if err != nil || len(lines) < 2 {
		t.Fatalf("%s: %d lines, %v", file, len(lines), err)
	}
	for _, l := range lines[1:] {
		r := checkRow{}
		for i, column := range lines[0] {
			r[column] = l[i]
		}
		rows = append(rows, r)
	}
	return lines[0], rows
}

// patterns of rows answered elsewhere, with the reason and whether each was met.
type patterns map[string]*excuse

type excuse struct {
	reason string
	met    bool
}

// covers is the reason of a pattern "topic id" that matches a row, * standing for any text.
func (p patterns) covers(key string) (string, bool) {
	for pattern, e := range p {
		if ok, err := path.Match(strings.ReplaceAll(pattern, "/", "|"), strings.ReplaceAll(key, "/", "|")); err == nil && ok {
			e.met = true
			return e.reason, true
		}
	}
	return "", false
}

// readElsewhere reads lines "topic id-pattern: reason".
func readElsewhere(t *testing.T) patterns {
	t.Helper()
	text, err := os.ReadFile("testdata/elsewhere.txt")
	if err != nil {
		t.Fatal(err)
	}
	out := patterns{}
	for _, line := range strings.Split(strings.TrimSpace(string(text)), "\n") {
		pattern, reason, ok := strings.Cut(line, ": ")
		if !ok || reason == "" {
			t.Fatalf("testdata/elsewhere.txt: %q gives no reason", line)
		}
		out[pattern] = &excuse{reason: reason}
	}
	return out
}

// judgeFriction judges the table of Darcy factors: columns by law, 1e-6.
func judgeFriction(t *testing.T, file string, lines []checkRow) int {
	laws := map[string]Friction{
		"laminar_64_Re": Laminar, "Churchill_1977": Churchill, "Colebrook": Colebrook, "Clamond": Colebrook,
		"Haaland": Haaland, "Swamee_Jain_1976": SwameeJain, "friction_factor_default": Moody,
	}
	for i, r := range lines {
		re, ed := mustNumber(r["Re"]), mustNumber(r["eD"])
		t.Run(fmt.Sprintf("%s %d Re %g eD %g", file, i, re, ed), func(t *testing.T) {
			compared := 0
			for column, law := range laws {
				if r[column] == "" {
					continue
				}
				compared++
				want := mustNumber(r[column])
				if got := law(re, ed); !(math.Abs(got-want) <= 1e-6*want+halfDigit(r[column])) {
					t.Errorf("%s: %.9g, published %s: %s", column, got, r[column], r["source"])
				}
			}
			if compared == 0 {
				t.Error("nothing was compared")
			}
		})
	}
	return len(lines)
}
