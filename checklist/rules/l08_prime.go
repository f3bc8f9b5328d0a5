package rules

import (
	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/code"
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
	Words: Words{
		code.Incomplete: {"nothing shows it yet", "time it"},
		code.Changed:    {"nothing shows it yet", "{changed} changed after it: do it again"},
		code.Outside:    {"pressure comes up slowly", "look for leaks, then leak-down with clamps"},
		code.Never:      {"the pump runs and no pressure comes", "switch off, look for fuel under the car"},
	},
	Shop:  atMostOwn[quantity.Duration](primeScale),
	Judge: inVisit(judgePrime),
})

func judgePrime(c *state.Car) []schema.Finding {
	r, ok := c.Last("prime")
	if !ok {
		return nil
	}
	f := schema.Finding{Rule: "L08", Subject: "prime", About: "prime", Limit: "at most 3 s", Entries: ids(r.Entry)}
	if why, gone := invalidated(c, r, "pump", "wiring"); gone {
		return outdated(f, why)
	}
	rail, hasRail := timed[quantity.Gauge](r, "rail")
	current, _ := timed[quantity.Current](r, "current")
	if hasRail && !exceeds(float64(rail), float64(noPressure)) && current > 0 {
		f.Severity, f.Code, f.Measured = schema.Stop, code.Never, bar(rail)+" at "+amps(current)
		f.Values = []schema.Amount{amount("rail", rail), amount("current", current)}
		return []schema.Finding{f}
	}
	time, ok := timed[quantity.Duration](r, "time")
	if !ok {
		return lacking(f, code.Incomplete)
	}
	s, limit := shopScale[quantity.Duration](c, "L08", f.Limit, primeScale)
	f.Values, f.Limits = []schema.Amount{amount("time", time)}, []schema.Bound{atMost("time", quantity.Duration(s[0].above))}
	f.Severity, f.Measured, f.Limit = s.grade(float64(time)), quantity.Format(time, "s", 1), limit
	return []schema.Finding{f}
}
