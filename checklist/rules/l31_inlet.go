package rules

import (
	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/code"
	"feedproof/schema/quantity"
)

const (
	inletLeast = quantity.Gauge(0.28 * quantity.Bar) // 4 psi
	inletBand  = quantity.Gauge(0.03 * quantity.Bar) // of the planned pressure, for carburettors that want less
)

var _ = register(Rule{
	ID: "L31", Title: "carburettor: pressure at the inlet at the end of the pull",
	What:    "Pressure at the carburettor's inlet at the end of the longest pull or launch, read as the load. Good at idle says nothing: the pump's flow, and the fuel that has to be pushed forward against the launch, show at the end.",
	Formula: "least = 0.28 bar, or the planned inlet pressure less 0.03 bar where that is lower: many side-draughts want 0.10 to 0.24 bar",
	Limits:  "OK from the least, HOLD below",
	Source:  "common practice; the carburettor's maker wins",
	Means:   "The bowl runs empty before the pull ends, and the engine goes lean.",
	Next:    "Timed flow at that pressure, the vent, the line's length against the launch, needle and seat.",
	Words:   Words{code.Outside: {"the bowl runs empty before the pull ends", "timed flow at that pressure, then vent, line and needle"}},
	Judge:   inVisit(judgeInlet),
})

func judgeInlet(c *state.Car) []schema.Finding {
	if !carburetted(c) {
		return nil
	}
	r, ok := c.Last("load")
	if !ok {
		return nil
	}
	least := inletLeast
	if c.Plan != nil && c.Plan.Carburettor != nil {
		if planned, err := c.Plan.Carburettor.Pressure.SI(); err == nil {
			least = min(least, planned-inletBand)
		}
	}
	f := schema.Finding{
		Rule: "L31", Subject: "load rail", Limits: []schema.Bound{atLeast("rail", least)}, About: "inlet pressure at the end of the pull", Limit: "at least " + bar(least), Entries: ids(r.Entry),
	}
	if why, gone := invalidated(c, r, "pump", "regulator", "filter", "feed line"); gone {
		return outdated(f, why)
	}
	m, ok := read[quantity.Gauge](c, r, "rail")
	if !ok {
		return lacking(f, code.Incomplete)
	}
	f.Measured, f.Values = withU(m), []schema.Amount{asRead("rail", m)}
	return decided(weigh(f, floorScale{{float64(least), schema.Hold}}, float64(m.value), float64(m.u)), m.trouble)
}
