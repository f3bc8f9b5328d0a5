package rules

import (
	"feedproof/schema"
	"feedproof/schema/code"
	"feedproof/schema/quantity"
)

var filterScale = scale{{0.20 * quantity.Bar, schema.Flag}, {0.35 * quantity.Bar, schema.Hold}}

var _ = register(Rule{
	ID: "L16", Title: "pressure drop of the pressure filter",
	What:   "Pressure before the filter less pressure after it, at full flow.",
	Limits: "OK to 0.20 bar (2.9 psi), FLAG to 0.35 bar, HOLD beyond; a clean one has 0.10 bar or less",
	Source: "common practice",
	Means:  "The filter is dirty or too small, and brings the end of supply nearer.",
	Next:   "A new filter, then read again.",
	Words:  Words{code.Outside: {"the filter holds fuel back", "fit a new filter, then read again"}},
	Shop:   atMostOwn[quantity.Difference](filterScale),
	Judge: bounded[quantity.Difference]{
		rule: "L16", about: "filter pressure drop", test: "filter", value: "drop",
		scale: filterScale, print: bar[quantity.Difference],
		changes: []string{"filter", "pump"},
	}.judge,
})
