package rules

import (
	"fmt"

	"feedproof/checklist/planning"
	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/code"
	"feedproof/schema/quantity"
)

// cornersHeld is how many dry spells in a row a full reservoir or surge tank
// has to hold.
const cornersHeld = 3

var _ = register(Rule{
	ID: "L44", Title: "reservoir or surge tank outlasts the corner",
	What: "How long a full reservoir or surge tank feeds the engine at full load while its pick-up or lift pump draws air, over the longest such spell: of a surge tank as planned, of a reservoir 6 s. " +
		"Volume over what leaves: the engine's demand when the return ends in it or there is none, else the whole flow of a new pump. Where the return ends is taken as elsewhere unless the plan says inside.",
	Formula:  "t = V / q; q = demand, or the pump's flow with the return elsewhere; held against three spells in a row",
	Limits:   "OK from three times the spell, FLAG from one, HOLD below",
	Source:   "common practice",
	Means:    "The engine goes lean in the corner or just after it, at full load.",
	Next:     "The return into it, a larger one, a baffle at the pick-up, more fuel in the tank; then feedproof plan CAR --lap FILE.",
	Words:    Words{code.Outside: {"the engine runs out of fuel in or after a corner", "the return into it, a larger one, a baffle, or more fuel in the tank; then feedproof plan CAR --lap FILE"}},
	Envelope: true,
	Judge:    inVisit(judgeEndurance),
})

func judgeEndurance(c *state.Car) []schema.Finding {
	e, err := planning.EnduranceOf(c)
	if e.Holder == "" {
		return nil
	}
	f := schema.Finding{
		Rule: "L44", Subject: "endurance", About: string(e.Holder) + " at full load", Limit: fmt.Sprintf("at least %s, three times %s", seconds(cornersHeld*e.Spell), seconds(e.Spell)), Entries: builtAs(c),
		Limits: []schema.Bound{atLeast("lasts", cornersHeld*e.Spell)},
	}
	if err != nil {
		return uncomputed(f, err)
	}
	f.Values = []schema.Amount{amount("lasts", e.Lasts), amount("volume", e.Volume), amount("leaving", e.Leaving)}
	f.Severity = floorScale{{float64(cornersHeld * e.Spell), schema.Flag}, {float64(e.Spell), schema.Hold}}.grade(float64(e.Lasts))
	f.Measured = fmt.Sprintf("%s: %s, and %s; %s", seconds(e.Lasts), quantity.Format(e.Volume, "L", 2), flow(e.Leaving), e.Return())
	return []schema.Finding{f}
}

func seconds(t quantity.Duration) string { return quantity.Format(t, "s", 1) }
