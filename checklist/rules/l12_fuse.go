package rules

import (
	"fmt"

	"feedproof/checklist/car"
	"feedproof/checklist/fuel"
	"feedproof/checklist/planning"
	"feedproof/schema"
	"feedproof/schema/quantity"
)

var _ = register(Rule{
	ID: "L12", Title: "fuse between current and wire", Never: true,
	What:    "The fuse of the pump feed against the pump's current at full load and the wire's ampacity in its bundle. The measured current is taken when there is one, else the one the curve gives.",
	Formula: "fuse / I_max, and fuse <= ampacity",
	Limits:  "OK 1.25 to 1.6 times the current, or the next standard size at or above 1.25 times it, and not above the ampacity; FLAG 1.1 to 1.25 or 1.6 to 2.0 times; HOLD beyond; BLOCK: none, or above the ampacity",
	Source:  "common practice; " + fuel.FuseClass,
	Means:   "A fuse protects the wire, not the pump. One bigger than the wire burns the loom; one too small strands the car.",
	Next:    "Choose wire first, then a fuse at or under its ampacity and over 1.25 times the current.",
	Judge:   inVisit(judgeFuse),
})

func judgeFuse(c *car.Car) []schema.Finding {
	if c.Plan == nil {
		return nil
	}
	limit := "1.25 to 1.6 x the current, at most the wire's ampacity"
	if c.Plan.Wiring == nil {
		return missing("L12", "pump fuse", limit, "add the wiring to the plan: area, lengths, fuse, ampacity")
	}
	w := c.Plan.Wiring
	if w.Fuse.State == schema.NotApplicable {
		return fuseFinding(c, schema.Block, "no fuse", "an unfused feed burns the car")
	}
	fuse, err := w.Fuse.SI()
	if err != nil {
		return missing("L12", "pump fuse", limit, "say which fuse is fitted")
	}
	ampacity, err := w.Ampacity.SI()
	if err != nil {
		return missing("L12", "pump fuse", limit, "say the wire's ampacity in its bundle")
	}
	current, ok := pumpCurrent(c)
	if !ok {
		return missing("L12", "pump fuse", limit, "read the pump's current at full load: feedproof read CAR supply ... current=...")
	}
	text := fmt.Sprintf("fuse %s, current %s, wire %s", amps(fuse), amps(current), amps(ampacity))
	if exceeds(float64(fuse), float64(ampacity)) {
		return fuseFinding(c, schema.Block, text, "the wire burns before the fuse blows")
	}
	return fuseFinding(c, fuseBand(fuse, current), text, "the fuse does not fit the current")
}

// fuseBand grades a fuse against the current. The next standard size at or
// above 1.25 times it is always in order.
func fuseBand(fuse, current quantity.Current) schema.Severity {
	ratio := float64(fuse / current)
	low := floorScale{{1.25, schema.Flag}, {1.1, schema.Hold}}.grade(ratio)
	if _, most := fuel.FuseWindow(current); !exceeds(float64(fuse), float64(most)) {
		return low
	}
	return max(low, scale{{1.6, schema.Flag}, {2.0, schema.Hold}}.grade(ratio))
}

func fuseFinding(c *car.Car, s schema.Severity, measured, means string) []schema.Finding {
	return []schema.Finding{{
		Rule: "L12", Severity: s, About: "pump fuse", Measured: measured, Limit: "1.25 to 1.6 x the current, at most the wire's ampacity",
		Means: means, Next: "wire first, then a fuse at or under its ampacity", Entries: ids(c.PlanBy),
	}}
}

func amps(i quantity.Current) string { return quantity.Format(i, "A", 1) }

// pumpCurrent is the highest current of a pump: measured, else computed.
func pumpCurrent(c *car.Car) (quantity.Current, bool) {
	if r, ok := c.LastAtLoad("supply"); ok {
		if _, gone := invalidated(c, r, "pump"); !gone {
			if m, _ := read[quantity.Current](c, r, "current"); m.value > 0 {
				return m.value, true
			}
		}
	}
	r, _ := planning.Compute(c)
	return r.Electrical.Current, r.Electrical.Known
}
