package rules

import (
	"fmt"

	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/code"
	"feedproof/schema/quantity"
)

var _ = register(Rule{
	ID: "X43", Title: "volts at the pump above those at its source",
	What:    "The volts across the pump's terminals less those at the source, of the last supply reading. A wire only loses volts: both cannot be true, and the margin rests on the one at the pump. A booster is read at its output, which is then the source.",
	Formula: "excess = U_pump - U_source",
	Limits:  "at most what the meters can be apart; beyond it UNPROVEN until both are read again",
	Source:  "Ohm's law: current flows from the higher voltage to the lower",
	Means:   "Two values swapped, two moments or another meter. The pump gets less than was typed, or nobody knows what it gets.",
	Next:    "Read both again at the same moment.",
	Words:   Words{code.Contradicts: {"both cannot be true, and the margin rests on one of them", "both at the same moment: feedproof read CAR supply source=... pump=... current=..."}},
	Judge:   inVisit(judgeSupplyOrder),
})

func judgeSupplyOrder(c *state.Car) []schema.Finding {
	r, _ := c.Last("supply")
	source, there := read[quantity.Voltage](c, r, "source")
	pump, both := read[quantity.Voltage](c, r, "pump")
	if !there || !both || !exceeds(float64(pump.value-source.value), apart(source, pump)) {
		return nil
	}
	return []schema.Finding{{
		Rule: "X43", Subject: "supply", Code: code.Contradicts, Severity: schema.Unproven, About: "volts at the pump", Limit: "at most those at its source",
		Measured: fmt.Sprintf("%s at the pump, %s at the source", volts(pump.value), volts(source.value)), Entries: ids(r.Entry),
		Values: []schema.Amount{asRead("pump", pump), asRead("source", source)}, Limits: []schema.Bound{atMost("pump", source.value)},
	}}
}
