package rules

import (
	"feedproof/schema"
	"feedproof/schema/code"
	"feedproof/schema/quantity"
)

var returnScale = scale{{0.20 * quantity.Bar, schema.Flag}, {0.50 * quantity.Bar, schema.Hold}}

var _ = register(Rule{
	ID: "L15", Title: "return back-pressure at idle",
	What:   "Pressure between regulator and return line at idle, with the whole pump flow going back.",
	Limits: "OK to 0.20 bar (3 psi), FLAG to 0.50 bar, HOLD beyond",
	Source: "common practice",
	Means:  "The regulator cannot go below what the return holds up: base pressure is too high at idle and right at load.",
	Next:   "A wider return, or fewer pumps at idle.",
	Words:  Words{code.Outside: {"base pressure cannot be set at idle", "a wider return, or fewer pumps at idle"}},
	Shop:   atMostOwn[quantity.Gauge](returnScale),
	Judge: bounded[quantity.Gauge]{
		rule: "L15", about: "return back-pressure", test: "return", value: "pressure",
		scale: returnScale, print: bar[quantity.Gauge],
		applies: injected, atIdle: true, changes: []string{"pump", "return line", "regulator"},
	}.judge,
})
