package rules

import (
	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/quantity"
)

const noPressure = quantity.Gauge(0.05 * quantity.Bar)

var primeScale = scale{{3, schema.Flag}, {5, schema.Hold}}

var _ = register(Rule{
	ID: "L08", Title: "prime: time to 95 % of base pressure",
	What:   "Seconds from key on until the rail has 95 % of base pressure. A long line filled for the first time may take five cycles.",
	Limits: "OK to 3 s, FLAG to 5 s, HOLD beyond; no pressure while the pump draws current: STOP",
	Source: "common practice",
	Means:  "Air, a check valve that lets go, a weak pump, or a leak. Current without pressure: a dead head, a dry pump or fuel going somewhere else.",
	Next:   "Stop, look under the car, then repeat; leak-down with clamps shows the check valve.",
	Judge:  inVisit(judgePrime),
})

func judgePrime(c *state.Car) []schema.Finding {
	r, ok := c.Last("prime")
	if !ok {
		return nil
	}
	f := schema.Finding{Rule: "L08", About: "prime", Limit: "at most 3 s", Means: "pressure comes up slowly", Next: "look for leaks, then leak-down with clamps", Entries: ids(r.Entry)}
	if why, gone := invalidated(c, r, "pump", "wiring"); gone {
		return missing("L08", "prime", f.Limit, why+": do it again")
	}
	rail, hasRail := timed[quantity.Gauge](r, "rail")
	current, _ := timed[quantity.Current](r, "current")
	if hasRail && !exceeds(float64(rail), float64(noPressure)) && current > 0 {
		f.Severity, f.Measured = schema.Stop, bar(rail)+" at "+amps(current)
		f.Means, f.Next = "the pump runs and no pressure comes", "switch off, look for fuel under the car"
		return []schema.Finding{f}
	}
	time, ok := timed[quantity.Duration](r, "time")
	if !ok {
		return missing("L08", "prime", f.Limit, "time it")
	}
	s, limit := shopScale[quantity.Duration](c, "L08", f.Limit, primeScale)
	f.Severity, f.Measured, f.Limit = s.grade(float64(time)), quantity.Format(time, "s", 1), limit
	return []schema.Finding{f}
}
