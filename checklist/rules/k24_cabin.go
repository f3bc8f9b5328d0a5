package rules

import (
	"slices"

	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/quantity"
)

var _ = register(Rule{
	ID: "K24", Title: "no vapour in boot and cabin at release", Never: true,
	What:   "A gas reading in boot and cabin after they were shut for 30 minutes, later than the first joint was opened. A joint that is opened again asks for its leak test, V-06, and not for this one.",
	Limits: "below 1 % LEL after correction",
	Source: "common practice",
	Means:  "The car goes home, perhaps to a garage under a bedroom.",
	Next:   "Shut it for 30 min, then read: feedproof read CAR gas floor=... cabin=...",
	Judge:  inVisit(judgeCabin),
})

func judgeCabin(c *state.Car) []schema.Finding {
	k, _ := c.Book.Caution("K24")
	if !c.Applies(k.When) {
		return nil
	}
	f := schema.Finding{
		Rule: "K24", Severity: schema.Unproven, About: "vapour in the cabin", Measured: NotYet, Limit: "below 1 % LEL after 30 min shut",
		Means: "nothing shows it yet", Next: "shut the car for 30 min, then read: feedproof read CAR gas floor=... cabin=...",
	}
	r, x, ok := lastCabin(c)
	if !ok {
		return []schema.Finding{f}
	}
	f.Entries = ids(r.Entry)
	if openings := c.VisitOpenings(); len(openings) > 0 && schema.Order(r.Entry, openings[0].Entry) < 0 {
		f.Measured = "read before the first joint was opened"
		return []schema.Finding{f}
	}
	v, _ := r.Value("cabin")
	corrected := float64(x) * gasFactor(v.Gauge)
	f.Measured = quantity.Text(quantity.LEL(corrected)) + " corrected"
	if !exceeds(gasFindSource, corrected) {
		f.Severity, f.Means, f.Next = schema.Block, "the car smells of fuel", "find where it comes from; it does not leave like this"
		return []schema.Finding{f}
	}
	if why := meterTrouble(c, r, v); why != "" {
		return []schema.Finding{unproven(f, why)}
	}
	f.Severity, f.Means, f.Next = schema.OK, "no vapour was found", ""
	return []schema.Finding{f}
}

func lastCabin(c *state.Car) (r state.Reading, x quantity.LEL, ok bool) {
	for _, r := range slices.Backward(c.All("gas")) {
		if x, ok := timed[quantity.LEL](r, "cabin"); ok {
			return r, x, true
		}
	}
	return r, 0, false
}
