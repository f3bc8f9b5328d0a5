package rules

import (
	"slices"
	"strings"

	"feedproof/checklist/procedures"
	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/code"
)

var _ = register(Rule{
	ID: "X36", Title: "a step of another job whose name differs by a capital",
	What:   "A step that none of the visit's jobs has, while one of them has a step of the same name in the other case: c6 cuts a tank, C6 looks into one.",
	Limits: "steps of this visit's jobs",
	Source: "common practice",
	Means:  "The other step was meant, and is still to be done; or a job was left out when the visit was opened.",
	Next:   "Take the entry back and record the step that was done.",
	Words:  Words{code.Misnamed: {"the other one was meant, or a job was left out", "take it back and record the step that was done"}},
	Judge:  inVisit(judgeCapitals),
})

func judgeCapitals(c *state.Car) []schema.Finding {
	todo := c.Todo()
	named := func(same func(id string) bool) int {
		return slices.IndexFunc(todo, func(s procedures.Step) bool { return same(s.ID) })
	}
	var found []schema.Finding
	for _, s := range c.Steps {
		if !c.InVisit(s.Entry) || named(func(id string) bool { return id == s.Data.Step }) >= 0 {
			continue
		}
		if i := named(func(id string) bool { return strings.EqualFold(id, s.Data.Step) }); i >= 0 {
			found = append(found, schema.Finding{
				Rule: "X36", Subject: s.Entry.ID, Code: code.Misnamed, Severity: schema.Flag, Values: []schema.Amount{called("step", s.Data.Step), called("meant", todo[i].ID)}, About: "step " + s.Data.Step, Measured: s.Step.Text, Limit: "step " + todo[i].ID + " of this visit: " + todo[i].Text, Entries: ids(s.Entry),
			})
		}
	}
	return found
}
