package rules

import (
	"math"

	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/code"
	"feedproof/schema/quantity"
)

const deadPlug = quantity.Voltage(0.1)

var _ = register(Rule{
	ID: "K06", Title: "no volts at the pump plug before the tank is opened", Never: true,
	What: "Before the tank or its flange is opened the battery is off, and the pump plug reads no volts. It holds until the pump runs again. " +
		"Opening a pressurised joint is not asked here: taking the pressure off needs the battery, and so does a timed flow.",
	Limits: "0 V, within 0.1 V for the meter's own zero",
	Source: "common practice",
	Means:  "A spark at the plug lights what is in the tank.",
	Next:   "Battery negative off and covered, read the plug, then open the tank.",
	Words:  Words{otherwise: {"the battery was not shown to be off when the tank was opened", "battery off and covered, read the plug before the tank is opened again"}},
	Judge:  inVisit(judgePlug),
})

func judgePlug(c *state.Car) []schema.Finding {
	var found []schema.Finding
	openings := c.ToProve()
	for i, o := range openings {
		if !opensTank(o) {
			continue
		}
		f, proven := plugBefore(c, o)
		if proven {
			continue
		}
		if late, ok := secondClass(c, o, plugBefore); ok {
			found = append(found, late)
			continue
		}
		f.Severity = openingSeverity(c, openings, i, func(later state.Opening) bool {
			_, ok := plugBefore(c, later)
			return ok && opensTank(later)
		})
		found = append(found, f)
	}
	return found
}

// opensTank reports an opening of the tank or its flange. Cutting it is another
// act: by then it is out of the car.
func opensTank(o state.Opening) bool {
	return !o.Pressured && !o.HotOrCut || o.Joint == "tank" || o.Joint == "module"
}

func live(v quantity.Voltage) bool { return exceeds(math.Abs(float64(v)), float64(deadPlug)) }

func plugBefore(c *state.Car, o state.Opening) (schema.Finding, bool) {
	f := schema.Finding{
		Rule: "K06", Subject: o.Entry.ID, About: "volts before opening " + o.Joint, Limit: "0 V at the pump plug",
		Values: []schema.Amount{called("joint", o.Joint)}, Limits: []schema.Bound{inside("volts", -deadPlug, deadPlug)},
	}
	r, ok := lastBefore(c, "plug", o.Entry)
	if !ok {
		return unshown(f, doubtful(code.Unread), o.Entry), false
	}
	m, ok := read[quantity.Voltage](c, r, "volts")
	switch {
	case !ok:
		return unshown(f, doubtful(code.Numberless), o.Entry, r.Entry), false
	case energisedBetween(c, r.Entry, o.Entry):
		return unshown(f, doubtful(code.Ran), o.Entry, r.Entry), false
	}
	f.Measured, f.Values, f.Entries = volts(m.value), append(f.Values, asRead("volts", m)), ids(o.Entry, r.Entry)
	if live(m.value) {
		return f, false
	}
	v, _ := r.Value("volts")
	why := instrumentTrouble(c, r, v)
	if why.is() {
		f = unshown(f, why, o.Entry, r.Entry)
		f.Measured = volts(m.value) + ": " + f.Measured
	}
	return f, !why.is()
}
