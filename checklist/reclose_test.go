package checklist_test

import (
	"testing"

	"feedproof/checklist"
)

// TestClosedAgainAfterTheStart: HP5 was closed before the first start. When it
// is opened again by something else than an opened joint, it is proven again by
// a new test and a new closing, though the engine ran in between; what was
// never closed before the start is not. Source: common practice ("a tool out of
// calibration makes the joint unproven; a good one closes it").
func TestClosedAgainAfterTheStart(t *testing.T) {
	t.Parallel()
	again := func(name string) edit {
		for _, c := range loadBase(t, "clean").entries {
			if c.Name == name {
				own := c.copied()
				own.Name, own.At = name+" anew", "+1612m"
				return edit{Add: own}
			}
		}
		t.Fatalf("there is no %s", name)
		return edit{}
	}
	fitted := late("fitted", "fit", "tech-1", map[string]any{"position": "regulator", "part": "regulator-1"})
	anew := []edit{fitted, again("prime"), again("base"), again("leak"), again("leak-down"), again("return"), again("last leak"), closing("HP5", "tech-1", "tech-2")}
	for _, c := range []struct {
		name  string
		edits []edit
		want  checklist.PointState
	}{
		{"regulator changed, tested and closed", anew, checklist.PointClosed},
		{"never closed before the start", append([]edit{{Entry: "HP5", Remove: true}}, anew...), checklist.PointNotProven},
		{"closed late before", append([]edit{{Entry: "HP5", Set: map[string]any{"/late": "from memory"}}}, anew...), checklist.PointNotProven},
		{"re-opened by hand and closed", []edit{late("by hand", "holdpoint", "lead-1", map[string]any{"point": "HP5", "action": "reopen", "why": "in doubt"}), again("leak"), closing("HP5", "tech-1", "tech-2")}, checklist.PointClosed},
	} {
		if p := pointOf(t, assess(t, "clean", c.edits...), "HP5"); p.State != c.want {
			t.Errorf("%s: HP5 is %s (%s), want %s", c.name, p.State, p.Why, c.want)
		}
	}
}
