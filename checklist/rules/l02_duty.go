package rules

import (
	"fmt"

	"feedproof/checklist/planning"
	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/code"
	"feedproof/schema/quantity"
)

var dutyScale = scale{{0.80, schema.Flag}, {0.85, schema.Hold}, {0.90, schema.Block}}

var _ = register(Rule{
	ID: "L02", Title: "effective injector duty in the plan", Never: true,
	What: "The share of the cycle in which the injectors must flow at full load, by mass, on the fuel and at the pressure difference they really see. " +
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
	r, err := planning.Compute(c)
	if err != nil {
		return uncomputed(c, "L02", "duty", "effective duty", limit, err)
	}
	i := r.Injection
	f := schema.Finding{
		Rule: "L02", Subject: "duty", Severity: dutyScale.grade(float64(i.Effective)), About: "effective duty", Limit: limit, Entries: builtAs(c),
		Values: []schema.Amount{amount("effective", i.Effective), amount("commanded", i.Commanded), amount("across", i.Difference)}, Limits: []schema.Bound{atMost("effective", quantity.Fraction(dutyScale[0].above))},
		Measured: fmt.Sprintf("%s effective (%s commanded) at %s across", percent(i.Effective), percent(i.Commanded), bar(i.Difference)),
	}
	if i.AssumedTest && f.Severity == schema.OK {
		f.Severity, f.Code = schema.Note, code.Assumed
	}
	if i.AssumedTest {
		f.Measured += "; the flow sheet's fluid is not known, n-heptane was taken"
	}
	return []schema.Finding{f}
}

func percent(f quantity.Fraction) string { return quantity.Format(f, "%", 1) }
