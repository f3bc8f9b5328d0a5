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

	"feedproof/cmd/internal/cli"
	"feedproof/tools/generate/invent"

	"github.com/google/go-cmp/cmp"
)

// outside are the questions that a program of another language answers from
// the exported lines, with the columns that are compared.
var outside = []struct {
	name    string
	columns []string
}{
	{"lot", []string{"position", "part", "fitted", "removed"}},
	{"gauges", []string{"visit", "test", "gauge", "alone"}},
	{"waivers", []string{"expires", "state", "left", "repeats", "copied"}},
	{"rechecks", []string{"what", "due", "days_late"}},
	{"own-work", []string{"visit", "by", "workers"}},
	{"beyond-envelope", []string{"visit", "what"}},
	{"tank-cuts", []string{"joint", "minutes"}},
	{"comebacks", []string{"visit", "days", "driven_km", "leak", "workers"}},
	{"reused", []string{"visit", "sha256", "places"}},
	{"edits", []string{"visit", "kind"}},
	{"receipts", []string{"part", "position"}},
	{"bump", []string{"meter"}},
	{"flow-ratio", []string{"ratio"}},
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

// TestQuestionsFromOutside answers thirteen questions of an invented shop a
// second time, by a Python program over the exported JSON Lines that shares
// nothing with ours, and compares every row. FEEDPROOF_LONG=1 takes 2,000 cars.
func TestQuestionsFromOutside(t *testing.T) {
	python, err := exec.LookPath("python3")
	if err != nil {
		t.Fatal("python3 is not installed: apt-get install python3")
	}
	shop := inventedShop(t)
	out := filepath.Join(t.TempDir(), "export")
	program(t, "--shop", shop, "export", out)
	lot := commonLot(t, out)
	c := exec.Command(python, "../../testdata/outside/questions.py", filepath.Join(out, "entries.jsonl"), invent.Today.Format(time.RFC3339), lot)
	c.Stderr = os.Stderr
	text, err := c.Output()
	if err != nil {
		t.Fatal(err)
	}
	var theirs map[string][][]any
	if err := json.Unmarshal(text, &theirs); err != nil {
		t.Fatal(err)
	}
	for _, q := range outside {
		args := []string{"--shop", shop, "ask", q.name, "--json"}
		if q.name == "lot" || q.name == "flow-ratio" {
			args = append(args, lot)
		}
		ours := ourRows(t, program(t, args...), q.columns)
		want := rowsOf(theirs[q.name])
		if len(want) == 0 {
			t.Errorf("%s: the shop has nothing to show", q.name)
		}
		if diff := cmp.Diff(want, ours); diff != "" {
			t.Errorf("%s: from outside - , ours + : %.3000s", q.name, diff)
		}
		t.Logf("%s: %d rows, equal: %v", q.name, len(ours), slices.Equal(want, ours))
	}
}

// commonLot is the pump lot that the export names most in fittings.
func commonLot(t *testing.T, out string) string {
	t.Helper()
	f, err := os.Open(filepath.Join(out, "csv", "vehicle.fit.csv"))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
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
func ourRows(t *testing.T, text []byte, columns []string) []string {
	t.Helper()
	var answer struct{ Rows []map[string]any }
	if err := json.Unmarshal(text, &answer); err != nil {
		t.Fatal(err)
	}
	var rows [][]any
	for _, r := range answer.Rows {
		row := []any{r["record"], r["entries"]}
		for _, c := range columns {
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
