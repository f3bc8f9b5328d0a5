package rules

import (
	"fmt"

	"feedproof/checklist/fuel"
	"feedproof/checklist/planning"
	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/code"
	"feedproof/schema/quantity"
)

var _ = register(Rule{
	ID: "L41", Title: "pick-up stays in fuel in the hardest corner",
	What: "The least volume that keeps the pick-up in fuel at the planned cornering to either side, against what is in the tank at the lowest level of the envelope: a flat surface tilted in a rectangular tank, floor and roof cutting it off. " +
		"Asked again at 1.25 times the acceleration. It knows nothing of waves, swirl and baffles. Where a reservoir or surge tank is planned, an uncovered pick-up is its work, which L44 judges.",
	Formula: "slope = a / g; V_least = the volume under the plane through the inlet of the pick-up, 10 mm over the floor",
	Limits:  "OK when covered at 1.25 times the cornering, FLAG when at the cornering alone, HOLD when not",
	Source:  "rigid-body motion of a liquid (Cengel & Cimbala, Fluid Mechanics, ch. 3); limits: common practice",
	Means:   "The pump draws air in a corner, and the engine goes lean under load.",
	Next:    "A higher least level in the envelope, a baffle, a reservoir with the return in it, a surge tank.",
	Words: Words{
		code.Outside: {"the pump draws air in a corner", "a higher least level, a baffle, a reservoir with the return in it, or a surge tank"},
		code.Backed:  {"the pick-up draws air there: the reservoir or surge tank has to last", "see L44"},
	},
	Envelope: true,
	Judge:    inVisit(judgePickUp),
})

func judgePickUp(c *state.Car) []schema.Finding {
	if c.Plan == nil || c.Plan.Tank == nil || c.Plan.Tank.Cornering.IsZero() {
		return nil
	}
	f := schema.Finding{
		Rule: "L41", Subject: "pick-up", About: "pick-up in the corner", Limit: "in fuel at 1.25 times the cornering", Entries: planned(c),
	}
	t, err := planning.Tank(c)
	if err != nil {
		return uncomputed(f, err)
	}
	if t.Length == 0 || t.Height == 0 || t.Level == 0 { // L40 asks
		return nil
	}
	cover, err := t.Cover(1)
	if err != nil {
		return uncomputed(f, err)
	}
	harder, err := t.Cover(fuel.Overshoot)
	if err != nil {
		return uncomputed(f, err)
	}
	f.Measured = fmt.Sprintf("%s at the lowest level; %s needs %s, at 1.25 times %s", litres(cover.Has), quantity.Format(t.Cornering, "g", 2), litres(cover.Needs), litres(harder.Needs))
	f.Values = []schema.Amount{amount("has", cover.Has), amount("needs", cover.Needs), amount("needs at 1.25", harder.Needs), amount("cornering", t.Cornering)}
	f.Limits = []schema.Bound{atLeast("has", harder.Needs)}
	f.Severity = coverSeverity(cover.Covered(), harder.Covered())
	if f.Severity > schema.Note && holds(c) {
		f.Severity, f.Code = schema.Note, code.Backed
	}
	return []schema.Finding{f}
}

func coverSeverity(at, harder bool) schema.Severity {
	switch {
	case at && harder:
		return schema.OK
	case at:
		return schema.Flag
	}
	return schema.Hold
}

func litres(v quantity.Volume) string { return quantity.Format(v, "L", 1) }

// holds reports that a reservoir or surge tank stands behind the pick-up.
func holds(c *state.Car) bool {
	e, _ := planning.EnduranceOf(c)
	return e.Holder != ""
}
