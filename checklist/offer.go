package checklist

import (
	"math"
	"slices"

	"feedproof/checklist/rules"
	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/quantity"
)

// powerRules judge what follows from the power of the envelope.
var powerRules = []string{"L01", "L01e", "L02", "L04c", "L21"}

// Offer is the highest power, in whole kilowatts, at which nothing that follows
// from it is a FLAG or more, with the rest of the envelope as planned. A
// shortage is never waived: the envelope is lowered to what passes.
//
// There is none when nothing is short. What no power would mend, such as a
// flow test at too little pressure, is left to its own finding.
func Offer(c *state.Car) (quantity.Power, bool) {
	if c.Plan == nil || c.Visit == nil {
		return 0, false
	}
	planned, err := c.Plan.Envelope.Power.SI()
	if err != nil {
		return 0, false
	}
	always := short(c, kilowatt)
	passes := func(p quantity.Power) bool {
		return !slices.ContainsFunc(short(c, p), func(rule string) bool { return !slices.Contains(always, rule) })
	}
	if passes(planned) {
		return 0, false
	}
	low, high := 1, int(math.Ceil(float64(planned)/kilowatt)) // kW; low passes, high does not
	for high-low > 1 {
		if middle := (low + high) / 2; passes(quantity.Power(middle) * kilowatt) {
			low = middle
		} else {
			high = middle
		}
	}
	return quantity.Power(low) * kilowatt, low > 1
}

const kilowatt = 1000

// short lists the rules that would be broken if the car had been planned for
// that power.
func short(c *state.Car, p quantity.Power) []string {
	plan, other := *c.Plan, *c
	plan.Envelope.Power = schema.Q[quantity.Power]{Written: quantity.Write(p, "kW", 3)}
	other.Plan = &plan
	var broken []string
	for _, id := range powerRules {
		rule, ok := rules.Find(id)
		if ok && slices.ContainsFunc(rule.Judge(&other), func(f schema.Finding) bool { return f.Severity >= schema.Flag && f.Severity != schema.Unproven }) {
			broken = append(broken, id)
		}
	}
	return broken
}
