package rules

import (
	"fmt"
	"time"

	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/code"
	"feedproof/schema/quantity"
)

var _ = register(Rule{
	ID: "X09", Title: "odometer and dates of visits run forward",
	What:   "The odometer of a visit is not below that of the one before, and no visit begins before the one before it. A changed instrument cluster is an answer: acknowledge it and say so.",
	Limits: "never backwards",
	Source: "common practice",
	Means:  "Another car, another instrument, a slip in writing, or a clock that is wrong. Distances to the re-check cannot be trusted.",
	Next:   "Read the odometer again; correct the entry, or acknowledge the finding with the reason.",
	Words:  Words{otherwise: {"another car or instrument, a slip, or a wrong clock", "correct the entry, or acknowledge it with the reason"}},
	Judge:  judgeOdometer,
})

func judgeOdometer(c *state.Car) []schema.Finding {
	var found []schema.Finding
	var last quantity.Length
	var lastBy, opened schema.Entry
	for _, v := range c.VisitEntries {
		if odometer, err := v.Data.Odometer.SI(); err == nil {
			if exceeds(float64(last), float64(odometer)) {
				found = append(found, backwards(code.Backwards, "odometer", fmt.Sprintf("%s after %s", quantity.Format(odometer, "km", 0), quantity.Format(last, "km", 0)), lastBy, v.Entry))
			}
			last, lastBy = odometer, v.Entry
		}
		if v.Data.Action == schema.OpenVisit {
			if v.Entry.At.Before(opened.At) {
				found = append(found, backwards(code.Early, "date of visit "+v.Data.Visit, fmt.Sprintf("%s after %s", v.Entry.At.Format(time.DateOnly), opened.At.Format(time.DateOnly)), opened, v.Entry))
			}
			opened = v.Entry
		}
	}
	return found
}

func backwards(why code.Code, about, measured string, entries ...schema.Entry) schema.Finding {
	return schema.Finding{
		Rule: "X09", Subject: entries[len(entries)-1].ID, Code: why, Severity: schema.Flag, About: about, Measured: measured, Limit: "never backwards", Entries: ids(entries...),
	}
}
