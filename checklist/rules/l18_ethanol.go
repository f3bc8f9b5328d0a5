package rules

import (
	"fmt"

	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/code"
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
	Words: Words{
		code.Missing: {"nothing shows it yet", "measure it: feedproof read CAR ethanol ..."},
		code.Lean:    {"the engine runs lean", "fill with the fuel of the map, or map it for this one"},
		code.Rich:    {"the engine runs rich", "fill with the fuel of the map, or map it for this one"},
	},
	Shop:  atMostOwn[quantity.Fraction](lessEthanol),
	Judge: inVisit(judgeEthanol),
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
		return lacking(schema.Finding{Rule: "L18", Subject: "ethanol", About: "ethanol against the map", Limit: percent(mapped) + " +- 5 points"}, code.Missing)
	}
	more, limit := shopScale[quantity.Fraction](c, "L18", percent(mapped)+" +- 5 points", moreEthanol)
	less, _ := shopScale[quantity.Fraction](c, "L18", "", lessEthanol)
	off := float64(m.value - mapped)
	f := schema.Finding{
		Rule: "L18", Subject: "ethanol", Code: code.Rich, Values: []schema.Amount{asRead("ethanol", m), amount("mapped", mapped)},
		Limits: []schema.Bound{inside("ethanol", mapped-quantity.Fraction(less[0].above), mapped+quantity.Fraction(more[0].above))}, About: "ethanol against the map", Limit: limit, Entries: ids(r.Entry, c.PlanBy),
		Measured: fmt.Sprintf("%s, %+.1f points", percent(m.value), 100*off),
		Severity: max(more.grade(off), less.grade(-off)),
	}
	switch {
	case f.Severity == schema.OK:
		f.Code = code.Within
	case off > 0:
		f.Code = code.Lean
	}
	if m.trouble.is() && m.gauge != "" {
		return []schema.Finding{unproven(f, m.trouble)}
	}
	return []schema.Finding{f}
}
