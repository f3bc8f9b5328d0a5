package rules

import (
	"feedproof/schema"
	"feedproof/schema/code"
	"feedproof/schema/quantity"
)

var suctionScale = scale{{7 * quantity.KPa, schema.Flag}, {14 * quantity.KPa, schema.Hold}}

var _ = register(Rule{
	ID: "L17", Title: "vacuum at an external pump's inlet",
	What:   "Gauge pressure at the pump inlet at full flow, with fuel at its hottest.",
	Limits: "OK to 7 kPa (2 inHg) below the barometer, FLAG to 14 kPa, HOLD beyond",
	Source: "common practice",
	Means:  "Fuel boils in the suction line: whine, cavitation, a pump dead in weeks.",
	Next:   "A coarser or larger suction filter, a wider and shorter line, a flooded inlet.",
	Words:  Words{code.Outside: {"fuel may boil before the pump", "a wider, shorter suction line or a coarser filter"}},
	Shop:   atMostOwn[quantity.Gauge](suctionScale),
	Judge: bounded[quantity.Gauge]{
		rule: "L17", about: "pump inlet vacuum", limit: "at most 7 kPa (2 inHg)", test: "suction", value: "inlet",
		scale: suctionScale, of: below,
		print:   func(p quantity.Gauge) string { return quantity.Format(-p, "kPa", 1) + " below the barometer" },
		changes: []string{"pump", "filter", "suction line"},
	}.judge,
})
