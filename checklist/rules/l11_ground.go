package rules

import (
	"feedproof/schema"
	"feedproof/schema/code"
	"feedproof/schema/quantity"
)

var groundScale = scale{{0.2, schema.Flag}, {0.3, schema.Hold}}

var _ = register(Rule{
	ID: "L11", Title: "voltage lost in the ground side",
	What:    "Volts between the pump's negative terminal and the battery's, at the highest current.",
	Formula: "as read",
	Limits:  "OK to 0.2 V, FLAG to 0.3 V, HOLD beyond",
	Source:  "common practice",
	Means:   "A ground on paint or a thin strap; it often shows only hot.",
	Next:    "Clean metal near the tank, or a ground wire back to the battery.",
	Words:   Words{code.Outside: {"the ground eats what the pump needs", "clean metal near the tank, or a wire back to the battery"}},
	Shop:    atMostOwn[quantity.Voltage](groundScale),
	Judge: bounded[quantity.Voltage]{
		rule: "L11", about: "voltage lost in the ground side", limit: "at most 0.2 V", test: "supply", value: "ground",
		scale: groundScale, print: func(v quantity.Voltage) string { return quantity.Format(v, "V", 2) },
		atLoad: true, changes: []string{"pump", "wiring"},
	}.judge,
})
