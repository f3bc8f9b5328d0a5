package rules

import (
	"fmt"

	"feedproof/checklist/planning"
	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/code"
	"feedproof/schema/quantity"
)

const powerApart = 0.10

var _ = register(Rule{
	ID: "X08", Title: "power of the plan against the fuel that flowed",
	What:    "Power that the fuel flow of a log implies, at the plan's specific consumption, against the planned power at the crank. Less than planned is not a contradiction: the car may make less.",
	Formula: "P = N G sqrt(dp / dp_rated) D_eff / BSFC",
	Limits:  "at most 10 % over the plan",
	Source:  "common practice",
	Means:   "More power than was declared, a wrong specific consumption, or injectors of another size. The margin was computed for less fuel than flows.",
	Next:    "Ask for the dyno sheet, read the injectors' marks, then plan again with what is true.",
	Words:   Words{code.Contradicts: {"plan and log cannot both be true", "dyno sheet, injector marks, specific consumption; then plan again"}},
	Judge:   inVisit(judgePower),
})

func judgePower(c *state.Car) []schema.Finding {
	l, _ := lastPull(c, loadChanges...)
	implied, at, _ := logged[quantity.Power](l, logPower)
	r, _ := planning.Compute(c) // over a power that is not known nothing is
	over := float64(implied/r.Demand.CrankPower) - 1
	if !exceeds(over, powerApart) {
		return nil
	}
	return []schema.Finding{{
		Rule: "X08", Subject: "power", Code: code.Contradicts, Severity: schema.Hold, Values: []schema.Amount{amount("implied", implied), amount("planned", r.Demand.CrankPower)},
		Limits: []schema.Bound{atMost("implied", r.Demand.CrankPower*(1+powerApart))}, About: "power", Limit: "at most 10 % over the plan's " + kilowatts(r.Demand.CrankPower), Entries: ids(c.PlanBy, l.Entry),
		Measured: fmt.Sprintf("the fuel that flowed makes %s%s, %+.0f %%", kilowatts(implied), at, 100*over),
	}}
}
