package rules

import (
	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/code"
	"feedproof/schema/quantity"
)

var bondScale = scale{{10, schema.Flag}, {100, schema.Hold}}

var _ = register(Rule{
	ID: "L20", Title: "bonding while fuel moves", Never: true,
	What:   "Resistance from car to drain equipment to earth, or tank to chassis.",
	Limits: "OK to 10 ohm, FLAG to 100 ohm, HOLD beyond; open circuit (1 Mohm or more) during a transfer: STOP",
	Source: "common practice; NFPA 77, from memory",
	Means:  "Moving fuel charges itself, and a spark needs no more than that.",
	Next:   "Clean metal under the clamps, then read again before any fuel moves.",
	Words: Words{
		code.Incomplete: {"nothing shows it yet", "read it"},
		code.Outside:    {"static can build up", "clean metal under the clamps, then read again"},
		code.Absent:     {"there is no bond at all", "clean metal under the clamps, then read again"},
	},
	Judge: inVisit(judgeBond),
})

const openCircuit = 1 * quantity.MegaOhm

func judgeBond(c *state.Car) []schema.Finding {
	r, ok := c.Last("bond")
	if !ok {
		return nil
	}
	ohms, ok := timed[quantity.Resistance](r, "resistance")
	if !ok {
		return lacking(schema.Finding{Rule: "L20", Subject: "bond", About: "bond", Limit: "at most 10 ohm"}, code.Incomplete)
	}
	f := schema.Finding{Rule: "L20", Subject: "bond", Values: []schema.Amount{amount("resistance", ohms)}, Limits: []schema.Bound{atMost("resistance", quantity.Resistance(bondScale[0].above))}, Severity: bondScale.grade(float64(ohms)), About: "bond", Measured: quantity.Format(ohms, "ohm", 1), Limit: "at most 10 ohm",
		Entries: ids(r.Entry)}
	if float64(ohms) >= openCircuit {
		f.Severity, f.Code = schema.Stop, code.Absent
	}
	return []schema.Finding{f}
}
