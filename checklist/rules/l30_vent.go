package rules

import (
	"feedproof/schema"
	"feedproof/schema/code"
	"feedproof/schema/quantity"
)

var ventScale = scale{{1 * quantity.KPa, schema.Flag}, {2 * quantity.KPa, schema.Hold}}

var _ = register(Rule{
	ID: "L30", Title: "tank vacuum after a drive",
	What:   "Tank pressure below the barometer after 20 minutes of driving.",
	Limits: "OK to 1 kPa (4 inH2O), FLAG to 2 kPa, HOLD beyond",
	Source: "common practice",
	Means:  "The vent is pinched or the rollover valve hangs: the pump starves after 20 to 30 minutes, and a tank can be sucked in.",
	Next:   "Follow the vent hose from the highest point of the tank; blow through it both ways.",
	Words:  Words{code.Outside: {"the tank does not breathe", "follow the vent hose and blow through it both ways"}},
	Shop:   atMostOwn[quantity.Gauge](ventScale),
	Judge: bounded[quantity.Gauge]{
		rule: "L30", about: "tank vacuum", limit: "at most 1 kPa (4 inH2O)", test: "vent", value: "tank",
		scale: ventScale, of: below,
		print:   func(p quantity.Gauge) string { return quantity.Format(-p, "kPa", 2) + " below the barometer" },
		changes: []string{"tank", "module", "vent"},
	}.judge,
})
