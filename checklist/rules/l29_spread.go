package rules

import (
	"feedproof/checklist/car"
	"feedproof/schema"
	"feedproof/schema/quantity"
)

var spreadScale = scale{{0.02, schema.Flag}, {0.04, schema.Hold}}

var _ = register(Rule{
	ID: "L29", Title: "static spread of the injector set",
	What:    "Largest static flow of the set over the smallest, less one, from the flow sheet or a bench.",
	Formula: "spread = Q_max / Q_min - 1",
	Limits:  "OK to 2 %, FLAG to 4 %, HOLD beyond",
	Source:  "common practice",
	Means:   "One cylinder runs leaner than the mixture sensor shows.",
	Next:    "Clean, measure again, or swap the odd one.",
	Judge:   judgeSpread,
})

func judgeSpread(c *car.Car) []schema.Finding {
	if c.Visit == nil {
		return nil
	}
	f := schema.Finding{Rule: "L29", About: "injector spread", Limit: "at most 2 %", Means: "one cylinder runs leaner than the sensor shows", Next: "clean, measure again, or swap the odd one"}
	spread, known := quantity.Fraction(0), false
	if r, ok := c.Last("spread"); ok {
		spread, known = timed[quantity.Fraction](r, "spread")
		f.Entries = ids(r.Entry)
	} else if fit, ok := c.Fitted["injectors"]; ok && fit.Part != nil && fit.Part.Injector != nil && fit.Part.Injector.Spread.Known() {
		spread, known = fit.Part.Injector.Spread.Or(0), true
		f.Entries = ids(fit.Entry)
	}
	if !known {
		return nil
	}
	s, limit := shopScale[quantity.Fraction](c, "L29", f.Limit, spreadScale)
	f.Severity, f.Measured, f.Limit = s.grade(float64(spread)), percent(spread), limit
	return []schema.Finding{f}
}
