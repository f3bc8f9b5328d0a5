package rules

import (
	"feedproof/checklist/car"
	"feedproof/checklist/planning"
	"feedproof/schema"
	"feedproof/schema/quantity"
)

var reliefScale = floorScale{{0.5 * quantity.Bar, schema.Flag}, {0.2 * quantity.Bar, schema.Hold}, {0, schema.Block}}

var _ = register(Rule{
	ID: "L28", Title: "room below the pump's relief valve",
	What:    "Relief pressure less the highest pressure at the pump outlet. Relief as stalled for a moment and read, or else as the pump's papers say.",
	Formula: "room = relief - p_out; p_out = base + boost + line + filter + check valve + height",
	Limits:  "OK from 0.5 bar (7 psi), FLAG from 0.2 bar, HOLD from 0, BLOCK below",
	Source:  "common practice",
	Means:   "When the relief opens the rail stands still at one number while boost goes on rising. Its tolerance or a dirty filter eats two tenths of a bar.",
	Next:    "A pump with a higher relief, a wider line, a lower base pressure, or less boost.",
	Judge:   judgeRelief,
})

func judgeRelief(c *car.Car) []schema.Finding {
	if c.Visit == nil || c.Plan == nil {
		return nil
	}
	r, err := planning.Compute(c)
	if err != nil {
		return nil
	}
	s, limit := shopFloor[quantity.Difference](c, "L28", "at least "+bar(quantity.Difference(0.5*quantity.Bar))+" over "+bar(r.Pressures.Outlet), reliefScale)
	f := schema.Finding{
		Rule: "L28", About: "room below the relief", Limit: limit,
		Means: "the relief valve may open under boost", Next: "a pump with a higher relief, a wider line, or less boost",
	}
	if read, ok := c.Last("relief"); ok {
		if _, gone := invalidated(c, read, "pump", "module"); !gone {
			return stalled(c, read, r.Pressures.Outlet, s, f)
		}
	}
	if !r.Distances.ReliefKnown {
		return nil
	}
	f.Severity, f.Measured, f.Entries = s.grade(float64(r.Distances.Relief)), bar(r.Distances.Relief)+" by the papers", ids(c.PlanBy)
	return []schema.Finding{f}
}

func stalled(c *car.Car, r car.Reading, outlet quantity.Gauge, s floorScale, f schema.Finding) []schema.Finding {
	m, ok := read[quantity.Gauge](c, r, "stall")
	if !ok {
		return nil
	}
	room := m.value.Minus(outlet)
	f.Severity, f.Measured, f.Entries = s.decide(float64(room), float64(m.u)), bar(room)+", stalled at "+bar(m.value), ids(r.Entry)
	return decided(f, m.trouble)
}
