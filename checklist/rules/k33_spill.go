package rules

import (
	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/code"
	"feedproof/schema/quantity"
)

var spillLimit = quantity.Volume(0.5 * quantity.Litre)

var _ = register(Rule{
	ID: "K33", Title: "spill above half a litre", Never: true,
	What:   "A spill of more than 0.5 L, or one that was seen and not measured, needs a gas reading after it, below 1 % LEL after correction, and an incident entry.",
	Limits: "OK: both; STOP: no such gas reading; HOLD: no incident entry",
	Source: "common practice; what must be reported is for the local rule",
	Means:  "1 L of gasoline brings 20 m3 (700 ft3) of air to its lower explosive limit, most of it on the floor.",
	Next:   "Everyone out, no switches, soak it up, air the place, read the meter, write it down; report it where the local rule says so.",
	Words: Words{
		code.Vapour:     {"vapour lies on the floor", "air the place, then read: feedproof read CAR gas ..."},
		code.Unrecorded: {"nobody wrote down what happened", "write it down: feedproof incident CAR --what ... --severity ... --injury no"},
	},
	Judge: inVisit(judgeSpill),
})

func judgeSpill(c *state.Car) []schema.Finding {
	spill, measured, ok := lastSpill(c)
	if !ok {
		return nil
	}
	f := schema.Finding{
		Rule: "K33", Subject: spill.ID, About: "spill", Measured: measured, Limit: "gas read after it, and an incident entry", Entries: ids(spill),
	}
	if !airedAfter(c, spill) {
		f.Severity, f.Code = schema.Stop, code.Vapour
		return []schema.Finding{f}
	}
	for _, e := range c.Standing() {
		if e.Kind == (schema.IncidentData{}).EntryKind() && (schema.Order(e, spill) > 0 || sameDay(e.At, spill.At)) {
			return nil
		}
	}
	f.Severity, f.Code = schema.Hold, code.Unrecorded
	return []schema.Finding{f}
}

// lastSpill is the last spill of the visit above the limit, or of unknown size.
func lastSpill(c *state.Car) (schema.Entry, string, bool) {
	var last schema.Entry
	var measured string
	for _, r := range c.All("spill") {
		volume, ok := timed[quantity.Volume](r, "volume")
		if ok && !exceeds(float64(volume), float64(spillLimit)) {
			continue
		}
		last, measured = r.Entry, both(volume, "L", 2, "gal", 2)
		if !ok {
			measured = "not measured"
		}
	}
	if k, _ := lastCaution(c, "K33"); k.Data.State == schema.CautionSeen && schema.Order(k.Entry, last) > 0 {
		last, measured = k.Entry, "seen"
	}
	return last, measured, measured != ""
}

func airedAfter(c *state.Car, spill schema.Entry) bool {
	for _, r := range c.All("gas") {
		if floor, _ := r.Value("floor"); schema.Order(r.Entry, spill) > 0 &&
			!meterTrouble(c, r, floor).is() && exceeds(gasFindSource, float64(worstGas(r))) {
			return true
		}
	}
	return false
}
