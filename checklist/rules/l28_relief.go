package rules

import (
	"feedproof/checklist/planning"
	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/code"
	"feedproof/schema/quantity"
)

var reliefScale = floorScale{{0.5 * quantity.Bar, schema.Flag}, {0.2 * quantity.Bar, schema.Hold}, {0, schema.Block}}

var _ = register(Rule{
	ID: "L28", Title: "room below the pump's relief valve",
	What: "Relief pressure less the highest pressure at the pump outlet. Relief as stalled for a moment and read, or else as the pump's papers say. " +
		"Not for a carburettor, whose pump stalls a few tenths of a bar above what the needle takes; what it delivers there is L01.",
	Formula:  "room = relief - p_out; p_out the highest of full load and idle, sea level and altitude, cold and hot fuel",
	Limits:   "OK from 0.5 bar (7 psi), FLAG from 0.2 bar, HOLD from 0, BLOCK below",
	Source:   "common practice",
	Means:    "When the relief opens the rail stands still at one number while boost goes on rising. Its tolerance or a dirty filter eats two tenths of a bar.",
	Next:     "A pump with a higher relief, a wider line, a lower base pressure, or less boost.",
	Words:    Words{code.Outside: {"the relief valve may open under boost", "a pump with a higher relief, a wider line, or less boost"}},
	Envelope: true,
	Shop:     atLeastOwn[quantity.Difference](reliefScale),
	Judge:    inVisit(judgeRelief),
})

func judgeRelief(c *state.Car) []schema.Finding {
	if c.Plan == nil || carburetted(c) {
		return nil
	}
	r, err := planning.Compute(c)
	if err != nil {
		return nil
	}
	s, limit := shopFloor[quantity.Difference](c, "L28", "at least "+bar(quantity.Difference(reliefScale[0].above))+" over "+bar(r.Highest.Outlet), reliefScale)
	f := schema.Finding{
		Rule: "L28", Subject: "relief", Limits: []schema.Bound{atLeast("room", quantity.Difference(s[0].above))}, About: "room below the relief", Limit: limit,
	}
	if by, stall, ok := stalled(c); ok {
		room := stall.value.Minus(r.Highest.Outlet)
		f.Values = []schema.Amount{give("room", room, float64(stall.u)), asRead("stall", stall)}
		f.Measured, f.Entries = bar(room)+", stalled at "+bar(stall.value), append(ids(by.Entry), builtAs(c)...)
		return decided(weigh(f, s, float64(room), float64(stall.u)), stall.trouble)
	}
	if !r.Distances.ReliefKnown {
		return nil
	}
	f.Values = []schema.Amount{amount("room", r.Distances.Relief)}
	f.Severity, f.Measured, f.Entries = s.grade(float64(r.Distances.Relief)), bar(r.Distances.Relief)+" by the papers", builtAs(c)
	return []schema.Finding{f}
}

// stalled is the pressure at which the fitted pump was stalled.
func stalled(c *state.Car) (state.Reading, measured[quantity.Gauge], bool) {
	r, _ := c.Last("relief")
	stall, ok := read[quantity.Gauge](c, r, "stall")
	_, gone := invalidated(c, r, "pump", "module")
	return r, stall, ok && !gone
}
