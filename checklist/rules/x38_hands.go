package rules

import (
	"fmt"
	"maps"
	"slices"

	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/code"
)

var _ = register(Rule{
	ID: "X38", Title: "an entry that is not proven to be what its author wrote",
	What: "Each entry is signed by its author, over what was seen. One whose signature does not fit, by a key that its author did not have, or that says to have seen what is not there, " +
		"is kept and does not count as evidence. What is bad in it still counts.",
	Limits: "every entry by a proven hand",
	Source: "common practice",
	Means:  "Somebody changed the record by hand, a key was not this person's, or a part of the history is missing.",
	Next:   "Prove the history, find out who wrote it, and have the work recorded again by whoever did it.",
	Words: Words{
		code.Unsigned: {"it does not count as evidence", "feedproof verify, then record again what was done"},
	},
	Judge: judgeHands,
})

func judgeHands(c *state.Car) []schema.Finding {
	var found []schema.Finding
	for _, id := range slices.Sorted(maps.Keys(c.Doubts())) {
		e, _ := c.Record.Entry(id)
		found = append(found, schema.Finding{
			Rule: "X38", Subject: id, Code: code.Unsigned, Severity: schema.Unproven, About: fmt.Sprintf("#%d %s by %s", e.Counter, e.Kind, e.By), Measured: c.Doubts()[id],
			Limit: "signed by its author", Entries: []string{id},
		})
	}
	return found
}
