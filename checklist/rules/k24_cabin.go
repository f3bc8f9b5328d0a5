package rules

import (
	"slices"

	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/code"
	"feedproof/schema/quantity"
)

var _ = register(Rule{
	ID: "K24", Title: "no vapour in boot and cabin at release", Never: true,
	What:   "A gas reading in boot and cabin after they were shut for 30 minutes, later than the first joint was opened. A joint that is opened again asks for its leak test, V-06, and not for this one.",
	Limits: "below 1 % LEL after correction",
	Source: "common practice",
	Means:  "The car goes home, perhaps to a garage under a bedroom.",
	Next:   "Shut it for 30 min, then read: feedproof read CAR gas floor=... cabin=...",
	Words: Words{
		code.Outside: {"the car smells of fuel", "find where it comes from; it does not leave like this"},
		code.Missing: {"nothing shows it yet", readCabin},
		code.Early:   {"nothing shows it yet", readCabin},
	},
	Judge: inVisit(judgeCabin),
})

const readCabin = "shut the car for 30 min, then read: feedproof read CAR gas floor=... cabin=..."

func judgeCabin(c *state.Car) []schema.Finding {
	k, _ := c.Book.Caution("K24")
	if !c.Applies(k.When) {
		return nil
	}
	f := schema.Finding{
		Rule: "K24", Subject: "cabin", Severity: schema.Unproven, Code: code.Missing, About: "vapour in the cabin", Measured: NotYet, Limit: "below 1 % LEL after 30 min shut",
		Limits: []schema.Bound{atMost("cabin", quantity.LEL(gasFindSource))},
	}
	r, x, ok := lastCabin(c)
	if !ok {
		return []schema.Finding{f}
	}
	f.Entries = ids(r.Entry)
	if openings := c.VisitOpenings(); len(openings) > 0 && schema.Order(r.Entry, openings[0].Entry) < 0 {
		f.Measured, f.Code = "read before the first joint was opened", code.Early
		return []schema.Finding{f}
	}
	v, _ := r.Value("cabin")
	corrected := float64(x) * gasFactor(v.Gauge)
	f.Measured, f.Values = quantity.Text(quantity.LEL(corrected))+" corrected", []schema.Amount{amount("cabin", quantity.LEL(corrected))}
	if !exceeds(gasFindSource, corrected) {
		f.Severity, f.Code = schema.Block, code.Outside
		return []schema.Finding{f}
	}
	if why := meterTrouble(c, r, v); why.is() {
		return []schema.Finding{unproven(f, why)}
	}
	f.Severity, f.Code = schema.OK, code.Within
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
