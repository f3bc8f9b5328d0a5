package rules

import (
	"fmt"

	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/code"
)

var _ = register(Rule{
	ID: "X05", Title: "photo or log of an earlier visit used again",
	What:   "A photo, file or log of this visit whose SHA-256 already stands in an earlier visit of the car. Within one visit a photo may show several things.",
	Limits: "each file in one visit only",
	Source: "common practice",
	Means:  "It shows the car as it was then, not as it is.",
	Next:   "Take a new photo or log.",
	Words:  Words{code.Reused: {"it shows the car as it was then", "take a new one"}},
	Judge:  inVisit(judgeEvidence),
})

func judgeEvidence(c *state.Car) []schema.Finding {
	var found []schema.Finding
	earlier := map[string]schema.Entry{}
	for _, file := range c.Files {
		e := file.Entry
		if !c.InVisit(e) {
			earlier[file.SHA256] = e
			continue
		}
		if first, seen := earlier[file.SHA256]; seen {
			found = append(found, schema.Finding{
				Rule: "X05", Subject: e.ID + " " + file.SHA256, Code: code.Reused, Severity: schema.Unproven, About: file.What, Measured: fmt.Sprintf("the same file stands in an earlier visit, %s", first.At.Format("2006-01-02")),
				Limit: "each file in one visit only", Entries: ids(first, e),
			})
		}
	}
	return found
}
