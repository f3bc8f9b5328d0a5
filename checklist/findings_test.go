package checklist_test

import (
	"strings"
	"testing"

	"feedproof/checklist"
	"feedproof/checklist/rules"
	"feedproof/schema"
)

// TestEveryFindingHasItsKey holds over every scenario: a finding says which it
// is, no two are the same, and words stand only where something is to be mended.
func TestEveryFindingHasItsKey(t *testing.T) {
	t.Parallel()
	n := 0
	for _, sc := range loadScenarios(t) {
		if sc.Refused != "" {
			continue
		}
		b := sc.situation(t).build(t)
		seen := map[string]bool{}
		for _, f := range checklist.Evaluate(b.record, b.shop, b.moment) {
			n++
			for _, wrong := range untold(f) {
				t.Errorf("%s: %s %q: %s", sc.ID, f.Severity, f.Key(), wrong)
			}
			if seen[f.Key()] {
				t.Errorf("%s: %q stands twice", sc.ID, f.Key())
			}
			seen[f.Key()] = true
		}
	}
	if n < 10_000 {
		t.Errorf("only %d findings", n)
	}
}

// untold is what is wrong with how a finding says what it is.
func untold(f schema.Finding) []string {
	var out []string
	say := func(bad bool, text string) {
		if bad {
			out = append(out, text)
		}
	}
	mend := f.Severity > schema.OK
	say(f.Subject == "", "no subject")
	say(f.Code == "" || strings.ContainsAny(string(f.Code), " "), "no code of one word")
	say(mend && (f.Means == "" || strings.ContainsAny(f.Means+f.Next, "{}")), "what it means is not said: "+f.Means+"; "+f.Next)
	say(f.Severity > schema.Note && f.Next == "", "what comes next is not said")
	say(!mend && f.Means+f.Next != "", "it is in order, and something is to be mended")
	say(rules.Waits(f) != (f.Severity == schema.Unproven && f.Measured == rules.NotYet), "waits, and says something else")
	for _, v := range f.Values {
		say(v.Name == "" || v.Value == "", "a value without name or number: "+v.Name)
	}
	return out
}
