package rules

import (
	"math"

	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/code"
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
	Words: Words{
		code.Missing + " target": {"nothing shows it yet", "plan the base pressure"},
		code.Missing:             {"nothing shows it yet", "pump on, reference hose off and vented: feedproof read CAR base 3.00 bar"},
		code.Mixed:               {"the number fits another unit: as {would fit} it would be on target", "look at the gauge's scale, and correct the entry if it is so"},
		code.Outside:             {"base pressure is off target, and every injector with it", "check the gauge's zero, set the regulator, read again"},
	},
	Shop:  atMostOwn[quantity.Difference](baseScale),
	Judge: inVisit(judgeBase),
})

func judgeBase(c *state.Car) []schema.Finding {
	if c.Plan == nil || !injected(c) {
		return nil
	}
	target, ok := c.Base()
	if !ok {
		return lacking(schema.Finding{Rule: "L06", Subject: "target", About: "base pressure", Limit: "a target in the plan"}, code.Missing)
	}
	f := schema.Finding{Rule: "L06", Subject: "base rail", About: "base pressure"}
	s, limit := shopScale[quantity.Difference](c, "L06", bar(target)+" +- "+bar(quantity.Difference(baseScale[0].above)), baseScale)
	f.Limit, f.Limits = limit, []schema.Bound{inside("rail", target-quantity.Difference(s[0].above), target+quantity.Difference(s[0].above))}
	r, ok := lastBut(c, "base", hoseOn)
	if !ok {
		return lacking(f, code.Missing)
	}
	if why, gone := invalidated(c, r, "regulator", "pump"); gone {
		return outdated(f, why)
	}
	m, ok := read[quantity.Gauge](c, r, "rail")
	if !ok {
		return lacking(f, code.Incomplete)
	}
	deviation := math.Abs(float64(m.value) - float64(target))
	f.Measured, f.Values, f.Entries = withU(m), []schema.Amount{asRead("rail", m)}, append(ids(r.Entry), planned(c)...)
	if hoseOn(r) {
		return []schema.Finding{worthless(f, doubtful(code.HoseOn))}
	}
	f = weigh(f, s, deviation, float64(m.u))
	if unit := fitsAs(r, "rail", target); unit != "" && f.Severity >= schema.Hold {
		f.Code, f.Values = code.Mixed, append(f.Values, called("would fit", unit))
	}
	return decided(f, m.trouble)
}

// fitsAs is the unit in which a number that was written in another is on target,
// as near as X11 asks; empty for none.
func fitsAs(r state.Reading, value string, target quantity.Difference) string {
	w := first(r, value).Written()
	for _, unit := range quantity.Alternatives(w.Unit) {
		p, err := quantity.Of[quantity.Gauge](quantity.Written{Value: w.Value, Unit: unit})
		if err == nil && math.Abs(float64(p)/float64(target)-1) <= pressureMixUps.within {
			return unit
		}
	}
	return ""
}

// withU prints a pressure with its uncertainty, if a gauge gives one.
func withU[Q pressure](m measured[Q]) string {
	if m.gauge == "" {
		return bar(m.value)
	}
	return bar(m.value) + " +- " + quantity.Format(quantity.Difference(m.u), "bar", 3)
}
