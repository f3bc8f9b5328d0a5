package rules

import (
	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/code"
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
	Words:   Words{code.Outside: {"one cylinder runs leaner than the sensor shows", "clean, measure again, or swap the odd one"}},
	Shop:    atMostOwn[quantity.Fraction](spreadScale),
	Judge:   inVisit(judgeSpread),
})

func judgeSpread(c *state.Car) []schema.Finding {
	spread, by, known := spreadOf(c)
	if !known {
		return nil
	}
	s, limit := shopScale[quantity.Fraction](c, "L29", "at most 2 %", spreadScale)
	return []schema.Finding{{
		Rule: "L29", Subject: "spread", Values: []schema.Amount{amount("spread", spread)}, Limits: []schema.Bound{atMost("spread", quantity.Fraction(s[0].above))}, Severity: s.grade(float64(spread)), About: "injector spread", Measured: percent(spread), Limit: limit, Entries: ids(by),
	}}
}

// spreadOf is the spread that was read, else that of the fitted set's papers.
func spreadOf(c *state.Car) (quantity.Fraction, schema.Entry, bool) {
	r, _ := c.Last("spread")
	if spread, ok := timed[quantity.Fraction](r, "spread"); ok {
		return spread, r.Entry, true
	}
	fit := c.Fitted["injectors"]
	if fit.Part == nil || fit.Part.Injector == nil {
		return 0, schema.Entry{}, false
	}
	spread, err := fit.Part.Injector.Spread.SI()
	return spread, fit.Entry, err == nil
}
