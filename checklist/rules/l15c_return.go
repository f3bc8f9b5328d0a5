package rules

import (
	"feedproof/schema"
	"feedproof/schema/code"
	"feedproof/schema/quantity"
)

var carburettorReturnScale = scale{{0.03 * quantity.Bar, schema.Flag}, {0.05 * quantity.Bar, schema.Hold}}

var _ = register(Rule{
	ID: "L15c", Title: "return back-pressure, carburettor by-pass",
	What:   "Pressure between a by-pass regulator and its return line on a carburettor car.",
	Limits: "OK to 0.03 bar (0.4 psi), FLAG to 0.05 bar, HOLD beyond",
	Source: "common practice",
	Means:  "At carburettor pressure a tenth of a bar in the return is fatal to the setting.",
	Next:   "A return as wide as the feed.",
	Words:  Words{code.Outside: {"carburettor pressure cannot be set", "a return as wide as the feed"}},
	Shop:   atMostOwn[quantity.Gauge](carburettorReturnScale),
	Judge: bounded[quantity.Gauge]{
		rule: "L15c", about: "return back-pressure", test: "return", value: "pressure",
		scale: carburettorReturnScale, print: finely[quantity.Gauge],
		applies: carburetted, atIdle: true, changes: []string{"pump", "return line", "regulator"},
	}.judge,
})
