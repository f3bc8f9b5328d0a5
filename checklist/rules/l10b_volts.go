package rules

import (
	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/code"
	"feedproof/schema/quantity"
)

var pumpVoltsScale = floorScale{{13.0, schema.Flag}, {12.5, schema.Hold}}

var _ = register(Rule{
	ID: "L10b", Title: "volts at the pump at full load",
	What:    "Volts across the pump's terminals at the highest current, engine running, no charger; and the least that the last loaded log shows, where it has them.",
	Formula: "U_pump as read",
	Limits:  "OK from 13.0 V, FLAG from 12.5 V, HOLD below; the flow margin is computed again at the volts that were read",
	Source:  "common practice",
	Means:   "A pump that gives enough at 13.5 V may give a quarter less at 12 V and high pressure.",
	Next:    "Find the lost volts; check the alternator at hot idle with all loads on.",
	Words: Words{
		code.Missing:    {"nothing shows it yet", readSupply},
		code.Incomplete: {"nothing shows it yet", "read volts at the pump's terminals"},
		code.Outside:    {"the pump gets too few volts for its flow", "find the lost volts; check the alternator at hot idle"},
	},
	Shop: atLeastOwn[quantity.Voltage](pumpVoltsScale),
	Judge: inVisit(func(c *state.Car) []schema.Finding {
		return beside(pumpVoltsInLog(c), judgePumpVolts(c), false)
	}),
})

// pumpVoltsInLog turns the scale over: fewer volts are worse.
func pumpVoltsInLog(c *state.Car) []schema.Finding {
	l, ok := lastPull(c, loadChanges...)
	if !ok {
		return nil
	}
	least, at, ok := logged[quantity.Voltage](l, logPumpVolts)
	if !ok {
		return nil
	}
	s, limit := shopFloor[quantity.Voltage](c, "L10b", "at least 13.0 V", pumpVoltsScale)
	f := schema.Finding{
		Rule: "L10b", Subject: inLog(logPumpVolts), Severity: s.grade(float64(least)), Values: []schema.Amount{amount("pump", least)}, Limits: []schema.Bound{atLeast("pump", quantity.Voltage(s[0].above))}, About: "volts at the pump, log", Measured: volts(least) + at, Limit: limit, Entries: ids(l.Entry),
	}
	if why := logTrouble(l, "L10b"); why != "" {
		f = unprovenLog(f, why)
	}
	return []schema.Finding{f}
}

func judgePumpVolts(c *state.Car) []schema.Finding {
	r, pump, found := supply(c, "L10b", "volts at the pump", "at least 13.0 V")
	if found != nil {
		return found
	}
	s, limit := shopFloor[quantity.Voltage](c, "L10b", "at least 13.0 V", pumpVoltsScale)
	f := schema.Finding{
		Rule: "L10b", Subject: "supply", Values: []schema.Amount{asRead("pump", pump)}, Limits: []schema.Bound{atLeast("pump", quantity.Voltage(s[0].above))}, About: "volts at the pump",
		Measured: quantity.Format(pump.value, "V", 2), Limit: limit, Entries: ids(r.Entry),
	}
	return supplyJudged(weigh(f, s, float64(pump.value), float64(pump.u)), r, pump.trouble)
}
