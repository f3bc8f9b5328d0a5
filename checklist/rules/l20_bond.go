package rules

import (
	"feedproof/checklist/state"
	"feedproof/schema"
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
	Judge:  inVisit(judgeBond),
})

const openCircuit = 1 * quantity.MegaOhm

func judgeBond(c *state.Car) []schema.Finding {
	r, ok := c.Last("bond")
	if !ok {
		return nil
	}
	ohms, ok := timed[quantity.Resistance](r, "resistance")
	if !ok {
		return missing("L20", "bond", "at most 10 ohm", "read it")
	}
	f := schema.Finding{Rule: "L20", Severity: bondScale.grade(float64(ohms)), About: "bond", Measured: quantity.Format(ohms, "ohm", 1), Limit: "at most 10 ohm",
		Means: "static can build up", Next: "clean metal under the clamps, then read again", Entries: ids(r.Entry)}
	if float64(ohms) >= openCircuit {
		f.Severity, f.Means = schema.Stop, "there is no bond at all"
	}
	return []schema.Finding{f}
}
