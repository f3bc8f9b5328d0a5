package main

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"sort"
	"strings"
	"testing"
	"time"

	"feedproof/cmd/dev/invent"
	"feedproof/cmd/internal/cli"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
)

// outsideQuestion is one that a program of another language answers from the
// exported lines, with the columns that are compared.
type outsideQuestion struct {
	name    string
	columns []string
	args    []string // after the car
	only    string   // the findings of one rule, when it knows no other
	wanting string   // what a shop without trouble has nothing of
}

// outside are those about the whole shop.
var outside = []outsideQuestion{
	{name: "lot", columns: []string{"position", "part", "fitted", "removed"}},
	{name: "gauges", columns: []string{"visit", "test", "gauge", "alone"}},
	{name: "waivers", columns: []string{"expires", "state", "left", "repeats", "copied"}},
	{name: "rechecks", columns: []string{"what", "due", "days_late"}},
	{name: "late-points", columns: []string{"visit", "point", "closed", "by", "second", "why"}},
	{name: "own-work", columns: []string{"visit", "by", "workers"}},
	{name: "beyond-envelope", columns: []string{"visit", "what"}},
	{name: "tank-cuts", columns: []string{"joint", "minutes"}},
	{name: "hoses", columns: []string{"position", "part", "dated", "age_years", "ethanol", "why"}},
	{name: "comebacks", columns: []string{"visit", "days", "driven_km", "leak", "workers"}},
	{name: "reused", columns: []string{"visit", "sha256", "places"}},
	{name: "edits", columns: []string{"visit", "kind"}},
	{name: "stops", columns: []string{"finding", "measured", "days", "since"}},
	{name: "receipts", columns: []string{"part", "position"}},
	{name: "bump", columns: []string{"meter"}},
	{name: "flow-ratio", columns: []string{"ratio"}},
	{name: "same-values", columns: []string{"by", "quantity", "value", "gauge", "cars", "first", "last", "others", "others_same_percent", "by_chance"}, wanting: "copied values"},
}

// ofEachCar are those about one car.
var ofEachCar = []outsideQuestion{
	{name: "since", columns: []string{"what", "before", "after", "change", "tolerance", "say"}},
	{name: "trend", args: []string{"base", "rail"}, columns: trended("value_bar")},
	{name: "trend", args: []string{"supply", "pump"}, columns: trended("value_v")},
	{name: "trend", args: []string{"load", "manifold"}, columns: trended("value_kpa_abs")},
	{name: "trend", args: []string{"load", "difference"}, columns: trended("value_bar")},
	{name: "trend", args: []string{"fuel", "temperature", "tank"}, columns: trended("value_degc")},
	{name: "new-rules", only: "K05 ", columns: []string{"visit", "released", "rule_set", "finding", "then", "now", "measured"}},
	{name: "known-at", args: []string{"2021-06-30"}, columns: []string{"order", "typed", "kind"}},
	{name: "known-at", args: []string{"release"}, columns: []string{"order", "typed", "kind"}},
}

func trended(value string) []string {
	return []string{"visit", "read", "by", "written", value, "gauge", "conditions"}
}

// program runs a command line in this process at the moment at which the
// invented shop stands.
func program(t testing.TB, args ...string) []byte {
	t.Helper()
	var out, errs bytes.Buffer
	w := cli.World{In: &bytes.Buffer{}, Out: &out, Err: &errs, Dir: t.TempDir(), Getenv: func(string) string { return "" }, Now: func() time.Time { return invent.Today }, Version: "test"}
	if code := cli.Main(w, args); code != 0 {
		t.Fatalf("feedproof %v: exit %d: %s%s", args, code, out.String(), errs.String())
	}
	return out.Bytes()
}

// troubled reports that the invented shop is the small one, in which much goes
// wrong.
func troubled() bool {
	return os.Getenv("FEEDPROOF_INVENTED") == "" && os.Getenv("FEEDPROOF_LONG") == ""
}

// inventedShop is a shop that was made before (FEEDPROOF_INVENTED names its
// folder), or a small one.
func inventedShop(t testing.TB) string {
	t.Helper()
	if dir := os.Getenv("FEEDPROOF_INVENTED"); dir != "" {
		return dir
	}
	o := invent.Options{Cars: 16, Visits: 3, Readings: 20, Seed: 7, Trouble: 10}
	if os.Getenv("FEEDPROOF_LONG") != "" {
		o = invent.Options{Cars: 2000, Visits: 10, Readings: 20, Seed: 1}
	}
	dir := t.TempDir()
	if _, err := invent.Shop(t.Context(), dir, o); err != nil {
		t.Fatal(err)
	}
	return dir
}

// TestQuestionsFromOutside answers the questions of an invented shop a second
// time, by a Python program over the exported files that shares nothing with
// ours, and compares every row: all twenty, of the new rule set (Q12) and of
// STOPs (Q16) those rules that the shop can break, and the same values (Q22). FEEDPROOF_LONG=1 takes 2,000
// cars.
func TestQuestionsFromOutside(t *testing.T) {
	shop := inventedShop(t)
	out := filepath.Join(t.TempDir(), "export")
	program(t, "--shop", shop, "export", out)
	lot, theirs := commonLot(t, out), answeredOutside(t, out)
	for _, q := range outside {
		args := []string{q.name}
		if q.name == "lot" || q.name == "flow-ratio" {
			args = append(args, lot)
		}
		if n := sameAnswer(t, shop, q, args, rowsOf(theirs[q.name])); n == 0 && (q.wanting == "" || troubled()) {
			t.Errorf("%s: the shop has nothing to show", q.name)
		} else {
			t.Logf("%s: %d rows", q.name, n)
		}
	}
	cars := someCars(t, out)
	for _, q := range ofEachCar {
		rows, said := 0, strings.Join(q.args, " ")
		for _, car := range cars {
			want := rowsOf(theirs[strings.TrimSpace(q.name+" "+car+" "+said)])
			if said == "release" && len(want) == 0 { // it was never signed off, and the question is refused
				continue
			}
			rows += sameAnswer(t, shop, q, append([]string{q.name, car}, q.args...), want)
			if q.name == "trend" {
				sameLine(t, shop, car, q.args, theirs["line "+car+" "+said])
			}
		}
		if rows == 0 {
			t.Errorf("%s %s: the shop has nothing to show", q.name, said)
		}
		t.Logf("%s %s: %d rows of %d cars", q.name, said, rows, len(cars))
	}
}

// answeredOutside are the other program's rows, by question.
func answeredOutside(t *testing.T, out string) map[string][][]any {
	t.Helper()
	python, err := exec.LookPath("python3")
	if err != nil {
		t.Fatal("python3 is not installed: apt-get install python3")
	}
	c := exec.Command(python, "-B", "../../testdata/outside/questions.py", filepath.Join(out, "entries.jsonl"), invent.Today.Format(time.RFC3339), commonLot(t, out))
	c.Stderr = os.Stderr
	text, err := c.Output()
	if err != nil {
		t.Fatal(err)
	}
	var theirs map[string][][]any
	if err := json.Unmarshal(text, &theirs); err != nil {
		t.Fatal(err)
	}
	return theirs
}

// sameAnswer compares an answer with the rows wanted, and counts them.
func sameAnswer(t *testing.T, shop string, q outsideQuestion, args, want []string) int {
	t.Helper()
	ours := ourRows(t, program(t, append([]string{"--shop", shop, "--json", "ask"}, args...)...), q)
	if diff := cmp.Diff(want, ours); diff != "" {
		t.Errorf("%s: from outside - , ours + : %.3000s", args, diff)
	}
	return len(ours)
}

// sameLine compares the line through a quantity's readings, as the note under
// the answer has it.
func sameLine(t *testing.T, shop, car string, quantity []string, want [][]any) {
	t.Helper()
	var answer struct{ Notes []string }
	if err := json.Unmarshal(program(t, append([]string{"--shop", shop, "--json", "ask", "trend", car}, quantity...)...), &answer); err != nil {
		t.Fatal(err)
	}
	var lines []string
	for _, l := range want {
		lines = append(lines, fmt.Sprint(l[2]))
	}
	if diff := cmp.Diff(lines, answer.Notes, cmpopts.EquateEmpty()); diff != "" {
		t.Errorf("trend %s %s: from outside - , ours + : %s", car, quantity, diff)
	}
}

// someCars are all cars of a small shop, of a large one a few.
func someCars(t *testing.T, out string) []string {
	t.Helper()
	const most = 40
	rows := table(t, out, "vehicle.vehicle.csv")
	record := slices.Index(rows[0], "record")
	var cars []string
	for i := 1; i < len(rows); i += 1 + len(rows)/most {
		cars = append(cars, rows[i][record])
	}
	return slices.Compact(cars)
}

// table are the rows of an exported CSV.
func table(t *testing.T, out, name string) [][]string {
	t.Helper()
	f, err := os.Open(filepath.Join(out, "csv", name))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	return rows
}

// commonLot is the pump lot that the export names most in fittings.
func commonLot(t *testing.T, out string) string {
	t.Helper()
	rows := table(t, out, "vehicle.fit.csv")
	part := slices.Index(rows[0], "part")
	count, most := map[string]int{}, ""
	for _, r := range rows[1:] {
		if lot := r[part]; strings.HasPrefix(lot, "PU-") {
			if count[lot]++; count[lot] > count[most] || count[lot] == count[most] && lot < most {
				most = lot
			}
		}
	}
	if most == "" {
		t.Fatal("no pump was ever fitted")
	}
	return most
}

// ourRows are the rows of an answer as text, sorted.
func ourRows(t *testing.T, text []byte, q outsideQuestion) []string {
	t.Helper()
	var answer struct{ Rows []map[string]any }
	if err := json.Unmarshal(text, &answer); err != nil {
		t.Fatal(err)
	}
	var rows [][]any
	for _, r := range answer.Rows {
		if finding, is := r["finding"].(string); is && !strings.HasPrefix(finding, q.only) {
			continue
		}
		row := []any{r["record"], r["entries"]}
		for _, c := range q.columns {
			v, there := r[c]
			if !there {
				t.Fatalf("an answer without the column %s", c)
			}
			row = append(row, v)
		}
		rows = append(rows, row)
	}
	return rowsOf(rows)
}

func rowsOf(rows [][]any) []string {
	out := []string{}
	for _, r := range rows {
		if entries, is := r[1].([]any); is {
			sort.Slice(entries, func(i, j int) bool { return fmt.Sprint(entries[i]) < fmt.Sprint(entries[j]) })
		}
		out = append(out, fmt.Sprint(r...))
	}
	slices.Sort(out)
	return out
}
