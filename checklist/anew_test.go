package checklist_test

import (
	"slices"
	"testing"

	"feedproof/checklist"
	"feedproof/schema"
)

// TestStepsOfEachOpening: what is done for each opening is done again, on its
// side of the opening, and nothing else is. Source: common practice.
func TestStepsOfEachOpening(t *testing.T) {
	t.Parallel()
	opened := openedAgain() // a day after the leak tests
	for _, c := range []struct {
		step  string
		edits []edit
		done  bool
	}{
		{"B1", nil, true},
		{"B1", opened, false},
		{"B1", append(openedAgain(), late("B1 anew", "step", "tech-1", map[string]any{"step": "B1", "state": "done"})), true},
		{"B1", []edit{{Add: &compact{Name: "open wider", Kind: "step", By: "tech-1", At: "+92m", Data: map[string]any{"step": "b4", "state": "done", "joint": "return"}}, After: "b4"}}, true}, // the same run of openings
		{"B2", opened, true}, // once
		{"B12", opened, true},
		{"J9", nil, true},
		{"J9", opened, false},
		{"H1", opened, false},
		{"F6", opened, true},
	} {
		a := assess(t, "clean", c.edits...)
		i := slices.IndexFunc(a.Steps, func(s checklist.Step) bool { return s.ID == c.step })
		if i < 0 {
			t.Fatalf("%s does not apply", c.step)
		}
		if a.Steps[i].Done != c.done {
			t.Errorf("%s with %d edits: done %v, want %v", c.step, len(c.edits), a.Steps[i].Done, c.done)
		}
	}
}

// TestPlanForMuchEthanolIsJudgedByItsOwnMargin: HP0 stays open for a margin
// that would do on gasoline. Source: common practice (1.20, above E50 1.25).
func TestPlanForMuchEthanolIsJudgedByItsOwnMargin(t *testing.T) {
	t.Parallel()
	if p := pointOf(t, assess(t, "clean"), "HP0"); p.State != checklist.PointClosed {
		t.Fatalf("HP0 of the base is %s", p.State)
	}
	a := assess(t, "clean", edit{Entry: "plan", Set: map[string]any{"/envelope/ethanol_max": map[string]any{"value": "85", "unit": "%"}, "/envelope/power/value": "380", "/pumps/ageing": map[string]any{"value": "68", "unit": "%"}}})
	held := slices.ContainsFunc(checklist.Open(a.Findings), func(f schema.Finding) bool { return f.Rule == "L01e" })
	if p := pointOf(t, a, "HP0"); !held || p.State != checklist.PointReopened {
		t.Errorf("HP0 is %s (%s), L01e open: %v", p.State, p.Why, held)
	}
}
