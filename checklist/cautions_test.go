package checklist_test

import (
	"strings"
	"testing"

	"feedproof/schema"
)

// TestCautionAnswersThatHold: what an instrument shows is not said in words, a
// first start wants two names, and an answer for a shift or for an opening does
// not hold for a later one. Source: common practice; the 12 h shop policy.
func TestCautionAnswersThatHold(t *testing.T) {
	t.Parallel()
	answered := func(k, at string, fields map[string]any) edit {
		data := map[string]any{"caution": k, "state": "met", "proof": "seen at the car, photo 31"}
		for name, v := range fields {
			data[name] = v
		}
		return edit{Add: &compact{Name: k + " now", Kind: "caution", By: "tech-1", At: at, Data: data}}
	}
	openedAt := func(at string) []edit { // of the cautions only the first shift's answers
		return append(openedAgain(without("K02 late", "K04 late", "K15 late", "K19 late")...), edit{Entry: "opening late", At: at})
	}
	two := map[string]any{"persons": []any{"tech-2"}}
	for _, c := range []struct {
		name, rule, says string // says: part of what is wrong; empty: nothing is
		edits            []edit
	}{
		{"12 h after the answer", "K02", "", openedAt("+773m")},
		{"a minute more", "K02", "answered 2026-03-02 08:53, and feed at the rail was opened 2026-03-02 20:54", openedAt("+774m")},
		{"extinguishers of yesterday", "K04", "was opened", openedAt("+1610m")},
		{"gloves of yesterday", "K15", "was opened", openedAt("+1610m")},
		{"said again afterwards", "K02", "", append(openedAt("+1610m"), answered("K02", "+1612m", nil))},
		{"not applicable holds on", "K02", "", append(openedAt("+1610m"), edit{Entry: "K02", Set: map[string]any{"/state": "not applicable", "/why": "the car stands outside, alone on the yard"}, Unset: []string{"/proof"}})},
		{"asked once", "K18", "", openedAt("+1610m")},
		{"start after another opening", "K19", "was opened", openedAt("+200m")},
		{"start said again", "K19", "", append(openedAt("+200m"), answered("K19", "+1612m", two))},
		{"start, one name", "K19", "one name only", []edit{answered("K19", "+1612m", nil)}},
		{"start, the same name twice", "K19", "one name only", []edit{answered("K19", "+1612m", map[string]any{"persons": []any{"tech-1"}})}},
		{"bond in words", "K07", "said, and not read", append(without("bond", "bond again"), answered("K07", "+1612m", nil))},
		{"bond not answered", "K07", "not recorded", without("bond", "bond again")},
		{"stop in words", "K21", "said, and not read", without("stop")},
		{"vent in words", "K22", "said, and not read", without("vent")},
		{"vent not here", "K22", "", append(without("vent"), edit{Entry: "K22", Set: map[string]any{"/state": "not applicable", "/why": "the tank stayed shut, the pump hangs outside"}, Unset: []string{"/proof"}})},
	} {
		t.Run(c.name, func(t *testing.T) {
			var got []schema.Finding
			for _, f := range assess(t, "clean", c.edits...).Findings {
				if f.Rule == c.rule && f.Severity > schema.Note {
					got = append(got, f)
				}
			}
			switch {
			case c.says == "" && len(got) > 0, c.says != "" && len(got) != 1:
				t.Errorf("want %q, got:%s", c.says, told(got))
			case c.says != "" && (got[0].Severity != schema.Unproven || !strings.Contains(got[0].Measured, c.says)):
				t.Errorf("want UNPROVEN %q, got:%s", c.says, told(got))
			}
		})
	}
}
