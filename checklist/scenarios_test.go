package checklist_test

import (
	"bytes"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"feedproof/checklist"
	"feedproof/checklist/rules"
	"feedproof/schema"
)

// TestScenarios runs every scenario of the folder: what is expected must be
// found, and nothing else above NOTE.
func TestScenarios(t *testing.T) {
	seen := map[string]bool{}
	for _, sc := range loadScenarios(t) {
		if seen[sc.ID] {
			t.Errorf("scenario %s stands twice", sc.ID)
		}
		seen[sc.ID] = true
		t.Run(sc.ID, func(t *testing.T) {
			t.Parallel()
			runScenario(t, sc)
		})
	}
}

// inGo are the rules whose cases are told in Go, because no base has what they
// need: other cars, other visits, times of many readings.
var inGo = map[string]string{
	"X03": "rules/records_test.go", "X05": "rules/records_test.go", "X15": "rules/recheck_test.go", "L47": "rules/fittings_test.go", "L48": "rules/fittings_test.go", "L49": "rules/fittings_test.go", "L50": "rules/fittings_test.go", "L51": "rules/fittings_test.go", "L52": "rules/fittings_test.go", "X29": "rules/x29_othercar_test.go",
	"L43": "wear_test.go", "X38": "truth_test.go", "X39": "truth_test.go", "X40": "truth_test.go", "L15c": "verdicts_test.go", "L17": "verdicts_cautions_test.go",
}

// TestEveryRuleHasAScenario holds that some scenario expects a finding of it.
func TestEveryRuleHasAScenario(t *testing.T) {
	expected := map[string]bool{}
	for _, sc := range loadScenarios(t) {
		for _, e := range sc.Expect {
			expected[e.Rule] = true
			if _, own := rules.Find(e.Rule); !own && e.Rule[0] == 'K' {
				expected["K"] = true // judges the cautions that have no rule of their own
			}
		}
	}
	for _, r := range rules.All() {
		if where := inGo[r.ID]; expected[r.ID] == (where != "") {
			t.Errorf("rule %s: stands in testdata/scenarios: %v, and in %q", r.ID, expected[r.ID], where)
		}
		if where := inGo[r.ID]; where != "" {
			if text, err := os.ReadFile(where); err != nil || !strings.Contains(string(text), `"`+r.ID+`"`) {
				t.Errorf("rule %s: is not in %s, %v", r.ID, where, err)
			}
		}
	}
}

func runScenario(t *testing.T, sc scenario) {
	s := sc.situation(t)
	b := s.build(t)
	err := b.validate(s)
	if sc.Refused != "" {
		if err == nil || !strings.Contains(err.Error(), sc.Refused) {
			t.Fatalf("%s: want it refused with %q, got %v", sc.Note, sc.Refused, err)
		}
		return
	}
	if err != nil {
		t.Fatal(err)
	}
	a := checklist.Assess(b.record, b.shop, b.moment)
	compare(t, sc.Expect, a.Findings)
	states(t, sc, a)
	faults(t, sc, a)
	pure(t, b, a)
}

// pure holds that judging again, with the entries in another order, gives the
// same, and that nothing of the record is changed by it.
func pure(t *testing.T, b built, first checklist.Assessment) {
	t.Helper()
	other := shuffled(b.record)
	record, shop := other.Encode(), b.shop.Record.Encode()
	second := checklist.Assess(other, b.shop, b.moment)
	if diff := cmp.Diff(first.Findings, second.Findings) + cmp.Diff(first.Points, second.Points); diff != "" {
		t.Errorf("entries in another order, or asking twice, changes the answer:\n%s", diff)
	}
	if !bytes.Equal(other.Encode(), record) || !bytes.Equal(b.shop.Record.Encode(), shop) {
		t.Error("the record was changed")
	}
}

// shuffled is the record with its entries in another order of the slice, which
// must not matter: the order is that of (counter, id).
func shuffled(r schema.Record) schema.Record {
	random := rand.New(rand.NewPCG(1, uint64(len(r.Entries))))
	entries := append([]schema.Entry(nil), r.Entries...)
	random.Shuffle(len(entries), func(i, j int) { entries[i], entries[j] = entries[j], entries[i] })
	r.Entries = entries
	return r
}

// compare takes each expected finding out of those found; nothing above NOTE
// may be left.
func compare(t *testing.T, want []expected, found []schema.Finding) {
	t.Helper()
	left := append([]schema.Finding(nil), found...)
	for _, w := range want {
		i := indexOf(w, left)
		if i < 0 {
			t.Errorf("%s %s %q is missing", w.Rule, w.Severity, w.Says)
			continue
		}
		left = append(left[:i], left[i+1:]...)
	}
	for _, f := range left {
		if f.Severity > schema.Note {
			t.Errorf("not expected:%s", told([]schema.Finding{f}))
		}
	}
	if t.Failed() {
		t.Logf("all findings:%s", told(found))
	}
}

func indexOf(w expected, found []schema.Finding) int {
	for i, f := range found {
		text := strings.Join([]string{f.About, f.Measured, f.Means}, "; ")
		if f.Rule == w.Rule && f.Severity == w.Severity && (f.Answered != "") == w.Answered && strings.Contains(text, w.Says) {
			return i
		}
	}
	return -1
}

// states holds the hold points and the answer to who may sign.
func states(t *testing.T, sc scenario, a checklist.Assessment) {
	t.Helper()
	for id, want := range sc.Points {
		found := false
		for _, p := range a.Points {
			if p.ID != id {
				continue
			}
			found = true
			if string(p.State) != want {
				t.Errorf("%s is %s (%s), want %s", id, p.State, p.Why, want)
			}
		}
		if !found {
			t.Errorf("%s does not apply", id)
		}
	}
	for person, want := range sc.SignOff {
		why := checklist.CanSignOff(a, person)
		if want == "" && len(why) > 0 {
			t.Errorf("%s may not sign off:%s", person, told(why))
		}
		if want != "" && !strings.Contains(told(why), want) {
			t.Errorf("%s: want refused with %q, got:%s", person, want, told(why))
		}
	}
}

// faults holds what the findings look like together, the heaviest first.
func faults(t *testing.T, sc scenario, a checklist.Assessment) {
	t.Helper()
	got := []string{}
	for _, d := range checklist.Diagnose(a) {
		got = append(got, d.Fault)
	}
	trouble := slices.ContainsFunc(sc.Expect, func(e expected) bool { return e.Severity >= schema.Flag })
	if !trouble && len(got) > 0 {
		t.Errorf("nothing is wrong, and it looks like %v", got)
	}
	if sc.Faults == nil {
		return
	}
	if diff := cmp.Diff(*sc.Faults, got); diff != "" {
		t.Errorf("faults (-want +got):\n%s", diff)
	}
}

// bases lists the records that scenarios start from.
func bases(t helper) []string {
	t.Helper()
	files, err := filepath.Glob(filepath.Join(scenarioFolder, "bases", "*.json"))
	if err != nil || len(files) == 0 {
		t.Fatalf("no bases: %v", err)
	}
	var names []string
	for _, f := range files {
		names = append(names, strings.TrimSuffix(filepath.Base(f), ".json"))
	}
	return names
}

// TestCleanBases proves what every scenario rests on: with no edit nothing is
// above NOTE and a lead may sign.
func TestCleanBases(t *testing.T) {
	for _, name := range bases(t) {
		t.Run(name, func(t *testing.T) {
			sc := scenario{ID: name, Base: name, SignOff: map[string]string{"lead-1": ""}}
			if name == "example-what-if" {
				sc.Expect = []expected{{Rule: "L02", Severity: schema.Flag, Answered: true}, {Rule: "L40", Severity: schema.Flag, Answered: true}}
			}
			runScenario(t, sc)
		})
	}
}
