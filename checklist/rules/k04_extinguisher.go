package rules

import (
	"time"

	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/code"
)

var _ = register(Rule{
	ID: "K04", Title: "extinguishers inspected within 12 months", Never: true,
	What:   "Where the answer to caution K04 gives the date at which the extinguishers were last inspected, that date is at most 12 months before.",
	Limits: "12 months",
	Source: "29 CFR 1910.157(e)(3), annual maintenance check; NFPA 10; both from memory. The same section puts one within 15 m (50 ft) of a class B hazard",
	Means:  "Nobody knows whether it will work.",
	Next:   "Bring two that are in date, then answer K04 again.",
	Words:  Words{code.Late: {"nobody knows whether they will work", "bring two that are in date, then: feedproof caution CAR K04 --proof ... --inspected DATE"}},
	Judge:  inVisit(judgeExtinguisher),
})

func judgeExtinguisher(c *state.Car) []schema.Finding {
	k, _ := lastCaution(c, "K04")
	if k.Data.Inspected == "" {
		return nil
	}
	f := schema.Finding{
		Rule: "K04", Subject: "extinguishers", Values: []schema.Amount{called("inspected", k.Data.Inspected)}, About: "extinguishers", Measured: "inspected " + k.Data.Inspected, Limit: "inspected within 12 months", Entries: ids(k.Entry),
	}
	inspected, _ := time.Parse(time.DateOnly, k.Data.Inspected) // unreadable is long ago
	if k.Entry.At.After(inspected.AddDate(1, 0, 1)) || inspected.After(k.Entry.At) {
		f.Severity, f.Code = schema.Hold, code.Late
	}
	return []schema.Finding{f}
}
