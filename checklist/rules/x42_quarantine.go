package rules

import (
	"maps"
	"slices"

	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/code"
)

var _ = register(Rule{
	ID: "X42", Title: "a part of a lot that is kept off cars", Never: true,
	What: "Every part that is fitted, whether it went in before the lot was held or after, in the shop or long gone: the part's record, as this machine has it, says that the lot is on hold. " +
		"A release lifts a hold that whoever wrote it had seen.",
	Limits: "no part of a lot on hold",
	Source: "common practice; recalls of makers come before this page",
	Means:  "What was found in one of the lot may be in this one.",
	Next:   "Fit another. Of a car that has left: tell its owner, and write it down: feedproof part quarantine PART --told CAR.",
	Words:  Words{code.Unfit: {"the lot is kept off cars: {why}", "fit another; if the car has left, tell its owner: feedproof part quarantine {part} --told CAR"}},
	Judge:  judgeQuarantine,
})

func judgeQuarantine(c *state.Car) []schema.Finding {
	if c.Shop.Part == nil {
		return nil
	}
	var found []schema.Finding
	for _, position := range slices.Sorted(maps.Keys(c.Fitted)) {
		f := c.Fitted[position]
		record, ok := c.Shop.Part(f.Data.Part)
		if q, held := state.Quarantined(record); ok && held {
			found = append(found, schema.Finding{
				Rule: "X42", Subject: position + " " + f.Data.Part, Code: code.Unfit, Severity: schema.Block, Values: []schema.Amount{called("part", f.Data.Part), called("why", q.Why)},
				About: "lot on hold, " + position, Measured: f.Data.Part + " is on hold since " + q.Entry.At.UTC().Format("2006-01-02"), Limit: "no part of a lot on hold", Entries: ids(f.Entry),
			})
		}
	}
	return found
}
