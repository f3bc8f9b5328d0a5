package rules

import (
	"fmt"

	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/quantity"
)

var (
	moreEthanol = scale{{0.05, schema.Flag}, {0.10, schema.Block}}
	lessEthanol = scale{{0.05, schema.Flag}, {0.10, schema.Hold}}
)

var _ = register(Rule{
	ID: "L18", Title: "ethanol in the tank against a fixed tune",
	What: "The last measured ethanol content less the content that the map is for. It does not apply to a map that follows a sensor. " +
		"The value is compared as it is: neither sensor nor water test tells a third of 5 points.",
	Formula: "deviation = measured - mapped, in points of % v/v",
	Limits:  "OK within 5 points, FLAG to 10; beyond, below the map (rich): HOLD; above it (lean): BLOCK. The car counts as used above half load",
	Source:  "common practice. Mixture: stoichiometric air of E85 is two thirds of that of gasoline",
	Means:   "More ethanol than the map knows of is a lean engine: twelve points from E70 are 6 %.",
	Next:    "Empty and fill with the fuel of the map, or map it for what is in, or fit a sensor. Then measure again.",
	Judge:   inVisit(judgeEthanol),
})

func judgeEthanol(c *state.Car) []schema.Finding {
	if c.Plan == nil || c.Plan.Fuel == nil {
		return nil
	}
	mapped, err := c.Plan.Fuel.Mapped.SI()
	if err != nil {
		return nil
	}
	r, _ := c.Last("ethanol")
	m, known := read[quantity.Fraction](c, r, "ethanol")
	if !known {
		return missing("L18", "ethanol against the map", percent(mapped)+" +- 5 points", "measure it: feedproof read CAR ethanol ...")
	}
	more, limit := shopScale[quantity.Fraction](c, "L18", percent(mapped)+" +- 5 points", moreEthanol)
	less, _ := shopScale[quantity.Fraction](c, "L18", "", lessEthanol)
	off := float64(m.value - mapped)
	f := schema.Finding{
		Rule: "L18", About: "ethanol against the map", Limit: limit, Entries: ids(r.Entry, c.PlanBy),
		Measured: fmt.Sprintf("%s, %+.1f points", percent(m.value), 100*off),
		Severity: max(more.grade(off), less.grade(-off)),
		Means:    "the engine runs rich", Next: "fill with the fuel of the map, or map it for this one",
	}
	if off > 0 {
		f.Means = "the engine runs lean"
	}
	if m.trouble != "" && m.gauge != "" {
		return []schema.Finding{unproven(f, m.trouble)}
	}
	return []schema.Finding{f}
}
