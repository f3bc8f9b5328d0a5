package rules

import (
	"feedproof/checklist/state"
	"feedproof/schema"
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
		Rule: "L10b", Severity: s.grade(float64(least)), About: "volts at the pump, log", Measured: volts(least) + at, Limit: limit, Entries: ids(l.Entry),
		Means: "the pump gets too few volts for its flow", Next: "find the lost volts; check the alternator at hot idle",
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
	return supplyJudged(schema.Finding{
		Rule: "L10b", Severity: s.decide(float64(pump.value), float64(pump.u)), About: "volts at the pump",
		Measured: quantity.Format(pump.value, "V", 2), Limit: limit, Entries: ids(r.Entry),
		Means: "the pump gets too few volts for its flow", Next: "find the lost volts; check the alternator at hot idle",
	}, r, pump.trouble)
}
