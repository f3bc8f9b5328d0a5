package rules

import (
	"fmt"

	"feedproof/checklist/fuel"
	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/code"
	"feedproof/schema/quantity"
)

var dutyScale = scale{{0.80, schema.Flag}, {0.85, schema.Hold}, {0.90, schema.Block}}

var _ = register(Rule{
	ID: "L02", Title: "effective injector duty in the plan", Never: true,
	What: "The share of the cycle in which the injectors must flow at full load, by mass, on the fuel and at the pressure difference they really see: without a return line, what is left behind the line. The smallest of the set is L40's. " +
		"Commanded duty, which a logger shows, is this plus dead time over cycle time: two numbers, one name.",
	Formula: "D = m / (N G); G = Q_rated rho_test sqrt(rho_fuel / rho_test) sqrt(dp / dp_rated)",
	Limits:  "OK to 80 %, FLAG to 85 %, HOLD to 90 %, BLOCK beyond",
	Source:  "common practice: opening and closing time, the bend near fully open, pressure and voltage tolerance. Orifice law: any fluid-mechanics text",
	Means:   "Near 100 % an injector no longer closes and the engine gets what flows, not what it needs.",
	Next:    "Bigger injectors, a higher base pressure if pump and injectors allow it, or a lower envelope.",
	Words: Words{
		code.Outside: {"the injectors have too little time to close", "bigger injectors, more pressure across them, or a lower envelope"},
		code.Assumed: {"it holds if the flow sheet was made with n-heptane", "ask for the fluid of the flow sheet"},
	},
	Envelope: true,
	Judge:    inVisit(judgeDuty),
})

func judgeDuty(c *state.Car) []schema.Finding {
	if c.Plan == nil || c.Plan.Injectors == nil {
		return nil
	}
	limit := "at most 80 %"
	return bothWays(c, func(w way) []schema.Finding {
		f := w.finding(c, "L02", "duty", "effective duty", limit)
		if w.err != nil {
			return uncomputed(f, w.err)
		}
		return []schema.Finding{dutyFinding(f, *w.result.Injection)}
	})
}

func dutyFinding(f schema.Finding, i fuel.Injection) schema.Finding {
	f.Severity, f.Limits = dutyScale.grade(float64(i.Effective)), []schema.Bound{atMost("effective", quantity.Fraction(dutyScale[0].above))}
	f.Measured = fmt.Sprintf("%s effective (%s commanded) at %s across", percent(i.Effective), percent(i.Commanded), bar(i.Difference))
	f.Values = []schema.Amount{amount("effective", i.Effective), amount("commanded", i.Commanded), amount("across", i.Difference)}
	if i.Cold {
		f.Measured += ", with cold fuel"
	}
	if i.AssumedTest && f.Severity == schema.OK {
		f.Severity, f.Code = schema.Note, code.Assumed
	}
	if i.AssumedTest {
		f.Measured += "; the flow sheet's fluid is not known, n-heptane was taken"
	}
	return f
}

func percent(f quantity.Fraction) string { return quantity.Format(f, "%", 1) }
