package rules

import (
	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/code"
)

var _ = register(Rule{
	ID: "X29", Title: "photo or file of another car used again",
	What:   "Evidence of this visit that names an entry of another record: attach and datalog write that down when the same bytes already stand there.",
	Limits: "each file in one car only",
	Source: "common practice",
	Means:  "It may show the other car. One of the two records has no evidence of its own.",
	Next:   "Take a new photo or log. An auditor looks at both cars.",
	Words:  Words{code.Reused: {"it may show the other car", "take a new one; an auditor looks at both cars"}},
	Judge:  judgeOtherCar,
})

func judgeOtherCar(c *state.Car) []schema.Finding {
	var found []schema.Finding
	for _, file := range c.Files {
		d, _ := schema.Into[schema.EvidenceData](file.Entry) // a log has no entries to name
		if !c.InVisit(file.Entry) {
			continue
		}
		for _, id := range d.Entries {
			if _, own := c.Record.Entry(id); own {
				continue
			}
			found = append(found, schema.Finding{
				Rule: "X29", Subject: file.Entry.ID + " " + id, Code: code.Reused, Severity: schema.Unproven, About: d.What, Measured: "the same file stands in another record, entry " + id,
				Limit: "each file in one car only", Entries: ids(file.Entry),
			})
		}
	}
	return found
}
