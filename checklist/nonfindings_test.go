package checklist_test

import (
	"slices"
	"strings"
	"testing"

	"feedproof/checklist"
	"feedproof/schema"
)

// tradesNonFindings are the trade's situations that look bad and are fine.
// Source: common practice; T036 by the gas law.
var tradesNonFindings = []string{"T011", "T022", "T024", "T032", "T033", "T036", "T053", "T061", "T068"}

// TestNonFindings holds each situation whose note begins with NF, by its name:
// nothing above NOTE may be said of it, beyond what it also expects (a joint is
// opened and not tested yet) or is answered. A false alarm is how a shop learns to
// click through.
func TestNonFindings(t *testing.T) {
	var names []string
	for _, sc := range loadScenarios(t) {
		if !strings.HasPrefix(sc.Note, "NF") {
			continue
		}
		names = append(names, sc.ID)
		t.Run(sc.ID, func(t *testing.T) {
			t.Parallel()
			b := sc.situation(t).build(t)
			for _, f := range checklist.Evaluate(b.record, b.shop, b.moment) {
				if f.Severity > schema.Note && f.Answered == "" && !slices.ContainsFunc(sc.Expect, func(e expected) bool { return e.Rule == f.Rule }) {
					t.Errorf("%s:%s", sc.Note, told([]schema.Finding{f}))
				}
			}
		})
	}
	for _, id := range tradesNonFindings {
		if !slices.Contains(names, id) {
			t.Errorf("%s is not tried", id)
		}
	}
}

// TestTwoDutiesDoNotContradict: the effective duty of a plan and the commanded
// duty of its log differ by the dead time, and that is no contradiction (T008).
func TestTwoDutiesDoNotContradict(t *testing.T) {
	a := assess(t, "clean", append(pull(loggedValue("duty", "88.2", "%")), planSet("/envelope/power", "385", "kW")...)...)
	both := 0
	for _, f := range a.Findings {
		switch {
		case f.Rule == "L02" && f.Severity == schema.Flag, f.Rule == "L03" && f.Severity == schema.Flag:
			both++
		case strings.HasPrefix(f.Rule, "X06"):
			t.Errorf("it is called a contradiction:%s", told([]schema.Finding{f}))
		}
	}
	if both != 2 {
		t.Errorf("the two duties are not both a FLAG:%s", told(a.Findings))
	}
}
