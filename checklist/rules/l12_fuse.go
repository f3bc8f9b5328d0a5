package rules

import (
	"fmt"

	"feedproof/checklist/fuel"
	"feedproof/checklist/planning"
	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/code"
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
	Words: Words{
		" wiring":      {"nothing shows it yet", "add the wiring to the plan: area, lengths, fuse, ampacity"},
		" rating":      {"nothing shows it yet", "say which fuse is fitted"},
		" ampacity":    {"nothing shows it yet", "say the wire's ampacity in its bundle"},
		" current":     {"nothing shows it yet", "read the pump's current at full load: feedproof read CAR supply ... current=..."},
		code.Absent:    {"an unfused feed burns the car", wireFirst},
		code.Oversized: {"the wire burns before the fuse blows", wireFirst},
		code.Outside:   {"the fuse does not fit the current", wireFirst},
	},
	Judge: inVisit(judgeFuse),
})

const wireFirst = "wire first, then a fuse at or under its ampacity"

func judgeFuse(c *state.Car) []schema.Finding {
	if c.Plan == nil {
		return nil
	}
	limit := "1.25 to 1.6 x the current, at most the wire's ampacity"
	if c.Plan.Wiring == nil {
		return fuseUnknown(limit, "wiring")
	}
	w := c.Plan.Wiring
	if w.Fuse.State == schema.NotApplicable {
		return fuseFinding(c, schema.Block, code.Absent, "no fuse")
	}
	fuse, err := w.Fuse.SI()
	if err != nil {
		return fuseUnknown(limit, "rating")
	}
	ampacity, err := w.Ampacity.SI()
	if err != nil {
		return fuseUnknown(limit, "ampacity")
	}
	current, ok := pumpCurrent(c)
	if !ok {
		return fuseUnknown(limit, "current")
	}
	text := fmt.Sprintf("fuse %s, current %s, wire %s", amps(fuse), amps(current), amps(ampacity))
	values := []schema.Amount{amount("fuse", fuse), amount("current", current), amount("ampacity", ampacity)}
	if exceeds(float64(fuse), float64(ampacity)) {
		return fuseFinding(c, schema.Block, code.Oversized, text, values...)
	}
	return fuseFinding(c, fuseBand(fuse, current), "", text, values...)
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

func fuseUnknown(limit, subject string) []schema.Finding {
	return lacking(schema.Finding{Rule: "L12", Subject: subject, About: "pump fuse", Limit: limit}, code.Missing)
}

func fuseFinding(c *state.Car, s schema.Severity, why code.Code, measured string, values ...schema.Amount) []schema.Finding {
	return []schema.Finding{{
		Rule: "L12", Subject: "fuse", Severity: s, Code: why, Values: values, About: "pump fuse", Measured: measured, Limit: "1.25 to 1.6 x the current, at most the wire's ampacity",
		Entries: computed(c),
	}}
}

func amps(i quantity.Current) string { return quantity.Format(i, "A", 1) }

// pumpCurrent is the highest current of a pump: measured, else computed.
func pumpCurrent(c *state.Car) (quantity.Current, bool) {
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
