package checklist_test

import (
	"slices"
	"strings"
	"testing"

	"feedproof/checklist"
	"feedproof/schema"
)

// TestConfirmation: a hold point of two persons is closed by two hands, the
// second in time and before the act that it guards. Source: common practice
// (second check by another person); the shift is shop policy.
func TestConfirmation(t *testing.T) {
	confirm := func(by, at, entered string) edit {
		return edit{Add: &compact{Name: "seen", Kind: "confirm", By: by, At: at, Entered: entered, Data: map[string]any{"entry": "HP9", "saw": "looked"}}, After: "HP9"}
	}
	gone := edit{Entry: "HP9 confirmed", Remove: true}
	for name, test := range map[string]struct {
		point string
		edits []edit
		state checklist.PointState
		why   string
	}{
		"confirmed":                  {"HP9", nil, checklist.PointClosed, ""},
		"nobody confirmed":           {"HP9", []edit{gone}, checklist.PointOpen, "tech-2 has not confirmed it"},
		"nobody was named":           {"HP9", []edit{gone, {Entry: "HP9", Unset: []string{"/second"}}}, checklist.PointNotProven, "two persons are asked for"},
		"another than who was named": {"HP9", []edit{gone, confirm("lead-1", "+1602m", "")}, checklist.PointClosed, ""},
		"by who closed it":           {"HP9", []edit{gone, confirm("tech-1", "+1602m", "")}, checklist.PointOpen, "tech-2 has not confirmed it"},
		"by a stranger":              {"HP9", []edit{gone, confirm("tech-9", "+1602m", "")}, checklist.PointOpen, "tech-2 has not confirmed it"},
		"a shift later":              {"HP9", []edit{gone, confirm("tech-2", "+2321m", "")}, checklist.PointNotProven, "12.0 h after it"},
		"typed a shift later":        {"HP9", []edit{gone, confirm("tech-2", "+1602m", "+2600m")}, checklist.PointNotProven, "more than 12 h"},
		"of a step":                  {"HP9", []edit{{Entry: "J9 confirmed", Remove: true}}, checklist.PointReopened, "step J9: tech-2 confirms it"},
		"after the engine ran": {"HP5", []edit{{Entry: "HP5 confirmed", Remove: true},
			{Add: &compact{Name: "seen", Kind: "confirm", By: "tech-2", At: "+210m", Data: map[string]any{"entry": "HP5"}}, After: "idle"}}, checklist.PointNotProven, "after the start that it guards"},
		"taken back": {"HP9", []edit{{Add: &compact{Name: "slip", Kind: "correct", By: "tech-2", At: "+1602m",
			Data: map[string]any{"entry": "HP9-confirmed", "action": "void", "why": "it was the other car"}}, After: "HP9"}}, checklist.PointOpen, "tech-2 has not confirmed it"},
	} {
		t.Run(name, func(t *testing.T) {
			a := assess(t, "clean", test.edits...)
			for _, p := range a.Points {
				if p.ID == test.point && (p.State != test.state || !strings.Contains(p.Why, test.why)) {
					t.Errorf("%s is %s: %s, want %s: %s", p.ID, p.State, p.Why, test.state, test.why)
				}
			}
			if closed := len(checklist.CanSignOff(a, "lead-1")) == 0; closed != (test.state == checklist.PointClosed && name != "another than who was named") {
				t.Errorf("may be signed off: %v", closed)
			}
		})
	}
}

// TestAConfirmationSawIt: who did not know of a closing has confirmed nothing.
func TestAConfirmationSawIt(t *testing.T) {
	c := apartFrom(t, "clean")
	all := c.all
	c.all = c.upTo("HP9")
	c.writes("bay-3", c.upTo("J8"), "confirm", map[string]any{"entry": "HP9", "saw": "looked"})
	if len(checklist.CanSignOff(c.assess(), "lead-1")) == 0 {
		t.Error("a confirmation that did not know of the closing counts")
	}
	c.all = all
	if len(checklist.CanSignOff(c.assess(), "lead-1")) != 0 {
		t.Error("the clean car cannot be signed off")
	}
}

// TestNobodyAnswersForOwnWork: a FLAG is answered by somebody else than who did
// the work; what came late by a lead who did none. Source: common practice.
func TestNobodyAnswersForOwnWork(t *testing.T) {
	late := []edit{{Entry: "gas", Remove: true}, {Add: &compact{Name: "gas", Kind: "reading", By: "tech-1", At: "+58m", Entered: "+100m", Data: baseData(t, "gas")}, After: "lock ring"}}
	f, ok := openOf(assess(t, "clean", late...), "K01")
	if !ok {
		t.Fatal("the late reading is not asked about")
	}
	for by, want := range map[string]bool{"lead-1": true, "tech-1": false, "tech-2": false} {
		answer := edit{Add: &compact{Name: "answer", Kind: "acknowledge", By: by, At: "+1602m", Data: map[string]any{
			"rule": f.Rule, "subject": f.Subject, "code": string(f.Code), "values": f.Values, "why": "asked both, the meter stood beside the joint all the time"}}, After: "HP9"}
		open := slices.ContainsFunc(assess(t, "clean", append(late[:2:2], answer)...).Findings, func(o schema.Finding) bool { return o.Key() == f.Key() && o.Answered == "" })
		if open == want {
			t.Errorf("answered by %s: %v, want %v", by, !open, want)
		}
	}
}
