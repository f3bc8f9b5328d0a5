package rules

import (
	"math"

	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/quantity"
)

var baseScale = scale{{0.07 * quantity.Bar, schema.Flag}, {0.14 * quantity.Bar, schema.Hold}}

var _ = register(Rule{
	ID: "L06", Title: "base pressure against its target",
	What:    "Rail pressure with the reference hose off and vented, pump running, against the base pressure of the plan.",
	Formula: "deviation = |rail - base|, with the gauge's uncertainty U added on the way to a pass and taken off on the way to a fail",
	Limits:  "OK to 0.07 bar (1.0 psi), FLAG to 0.14 bar, HOLD beyond. U must be at most a third of 0.07 bar; to a half of it: FLAG; more: UNPROVEN",
	Source:  "limits: common practice. Decision: guard band of JCGM 106:2012 and ILAC-G8:09/2019, from memory",
	Means:   "Injector flow goes with the root of the pressure difference: 0.3 bar low of 3.0 is 5 % less fuel everywhere.",
	Next:    "Check the gauge's zero, set the regulator, read again; if it cannot be set, measure return back-pressure.",
	Judge:   inVisit(judgeBase),
})

func judgeBase(c *state.Car) []schema.Finding {
	if c.Plan == nil || !injected(c) {
		return nil
	}
	target, ok := c.Base()
	if !ok {
		return missing("L06", "base pressure", "a target in the plan", "plan the base pressure")
	}
	s, limit := shopScale[quantity.Difference](c, "L06", bar(target)+" +- "+bar(quantity.Difference(baseScale[0].above)), baseScale)
	r, ok := lastBut(c, "base", hoseOn)
	if !ok {
		return missing("L06", "base pressure", limit, "pump on, reference hose off and vented: feedproof read CAR base 3.00 bar")
	}
	if why, gone := invalidated(c, r, "regulator", "pump"); gone {
		return missing("L06", "base pressure", limit, why+": read it again")
	}
	m, ok := read[quantity.Gauge](c, r, "rail")
	if !ok {
		return missing("L06", "base pressure", limit, "read it and write the number")
	}
	deviation := math.Abs(float64(m.value) - float64(target))
	f := schema.Finding{
		Rule: "L06", Severity: s.decide(deviation, float64(m.u)), About: "base pressure", Measured: withU(m), Limit: limit,
		Means: "base pressure is off target, and every injector with it", Next: "check the gauge's zero, set the regulator, read again", Entries: ids(r.Entry),
	}
	if hoseOn(r) {
		return []schema.Finding{worthless(f, "the reference hose was on")}
	}
	return judged(f, m.trouble, deviation, float64(m.u), s)
}

// withU prints a pressure with its uncertainty, if a gauge gives one.
func withU[Q pressure](m measured[Q]) string {
	if m.gauge == "" {
		return bar(m.value)
	}
	return bar(m.value) + " +- " + quantity.Format(quantity.Difference(m.u), "bar", 3)
}

// judged finishes a graded finding: trouble with the gauge makes it UNPROVEN,
// and an UNPROVEN by uncertainty says so, as does a FLAG of a value that is
// within its limit.
func judged(f schema.Finding, trouble string, x, u float64, s scale) []schema.Finding {
	if trouble != "" {
		return []schema.Finding{unproven(f, trouble)}
	}
	coarse := ": its uncertainty is " + quantity.Format(quantity.Difference(u), "bar", 3) +
		", and a third of the tolerance is " + quantity.Format(quantity.Difference(s[0].above/3), "bar", 3)
	switch {
	case f.Severity == schema.Unproven:
		f.Means, f.Next = "the gauge is too coarse to tell"+coarse, "read again with a finer gauge"
	case f.Severity == schema.Flag && s.grade(x+u) == schema.OK:
		f.Means, f.Next = "it is within, by a gauge that is coarse for it"+coarse, "read again with a finer gauge, or say why this one will do"
	}
	return []schema.Finding{f}
}
