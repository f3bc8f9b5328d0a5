package rules

import (
	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/code"
	"feedproof/schema/quantity"
)

var voltsLostScale = scale{{0.5, schema.Flag}, {1.0, schema.Hold}, {1.5, schema.Block}}

var _ = register(Rule{
	ID: "L10", Title: "voltage lost from source to pump",
	What:    "Volts at the source less volts across the pump's terminals, read together at the highest current; and the most that the last loaded log shows, where it has both.",
	Formula: "lost = U_source - U_pump",
	Limits:  "OK to 0.5 V, FLAG to 1.0 V, HOLD to 1.5 V, BLOCK beyond. A charger on the battery makes the reading worthless",
	Source:  "common practice; 0.5 V is also the allowable drop of a 14 V system in FAA AC 43.13-1B Table 11-6, from memory",
	Means:   "Wire, relay, connector or ground eats what the pump needs; delivery falls much faster than volts at high pressure.",
	Next:    "Measure the ground side first (0.2 V at most), then fuse, relay and feed wire one by one.",
	Words: Words{
		code.Missing:    {"nothing shows it yet", readSupply},
		code.Incomplete: {"nothing shows it yet", "read volts at the source and at the pump's terminals together"},
		code.Outside:    {"the supply eats what the pump needs", "measure the ground side first, then fuse, relay and feed wire"},
	},
	Shop: atMostOwn[quantity.Voltage](voltsLostScale),
	Judge: inVisit(func(c *state.Car) []schema.Finding {
		return beside(voltsLostInLog(c), judgeVoltsLost(c), false)
	}),
})

const readSupply = "at full load, all loads on: feedproof read CAR supply source=... pump=... current=..."

func voltsLostInLog(c *state.Car) []schema.Finding {
	l := fromLog[quantity.Voltage]{
		rule: "L10", about: "voltage lost to the pump, log", value: logVoltsLost, print: volts,
	}
	l.scale, l.limit = shopScale[quantity.Voltage](c, "L10", "at most 0.5 V", voltsLostScale)
	return l.judge(c)
}

func volts(v quantity.Voltage) string { return quantity.Format(v, "V", 2) }

func judgeVoltsLost(c *state.Car) []schema.Finding {
	r, pump, found := supply(c, "L10", "voltage lost to the pump", "at most 0.5 V")
	if found != nil {
		return found
	}
	source, ok := read[quantity.Voltage](c, r, "source")
	if !ok {
		return lacking(schema.Finding{Rule: "L10", Subject: "supply", About: "voltage lost to the pump", Limit: "at most 0.5 V"}, code.Incomplete)
	}
	lost := max(0, float64(source.value-pump.value))
	s, limit := shopScale[quantity.Voltage](c, "L10", "at most 0.5 V", voltsLostScale)
	f := schema.Finding{
		Rule: "L10", Subject: "supply", Values: []schema.Amount{give("lost", quantity.Voltage(lost), apart(source, pump))}, Limits: []schema.Bound{atMost("lost", quantity.Voltage(s[0].above))}, About: "voltage lost to the pump",
		Measured: quantity.Format(quantity.Voltage(lost), "V", 2), Limit: limit, Entries: ids(r.Entry),
	}
	return supplyJudged(weigh(f, s, lost, apart(source, pump)), r, firstOf(source.trouble, pump.trouble))
}

// supply finds the reading of pump volts and amps that still holds.
func supply(c *state.Car, rule, about, limit string) (state.Reading, measured[quantity.Voltage], []schema.Finding) {
	none := measured[quantity.Voltage]{}
	f := schema.Finding{Rule: rule, Subject: "supply", About: about, Limit: limit}
	r, ok := c.LastAtLoad("supply")
	if !ok {
		return r, none, lacking(f, code.Missing)
	}
	if why, gone := invalidated(c, r, "pump", "wiring"); gone {
		return r, none, outdated(f, why)
	}
	pump, ok := read[quantity.Voltage](c, r, "pump")
	if !ok {
		return r, none, lacking(f, code.Incomplete)
	}
	return r, pump, nil
}

// supplyJudged makes a supply finding UNPROVEN when a charger was connected or
// the meter cannot prove it.
func supplyJudged(f schema.Finding, r state.Reading, trouble doubt) []schema.Finding {
	if r.Data.Conditions != nil && r.Data.Conditions.Charger == schema.Yes {
		trouble = doubtful(code.Charging)
	}
	return decided(f, trouble)
}
