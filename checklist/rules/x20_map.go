package rules

import (
	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/code"
)

var _ = register(Rule{
	ID: "X20", Title: "the map that was tested is the map that leaves",
	What:   "The calibration that stands in the last loaded log against the one of the plan, where both are written down.",
	Limits: "the same",
	Source: "common practice",
	Means:  "The pulls prove a map that is not in the car.",
	Next:   "Log the map that leaves, or plan the one that was tested.",
	Words:  Words{code.Contradicts: {"the pulls prove a map that does not leave", "log the map that leaves, or plan the one that was tested"}},
	Judge:  inVisit(judgeMap),
})

func judgeMap(c *state.Car) []schema.Finding {
	l, _ := lastPull(c)
	if c.Plan == nil || c.Plan.Map == "" || l.Data.Map == "" || c.Plan.Map == l.Data.Map {
		return nil
	}
	return []schema.Finding{{
		Rule: "X20", Subject: "map", Code: code.Contradicts, Severity: schema.Hold, Values: []schema.Amount{called("logged", l.Data.Map), called("planned", c.Plan.Map)}, About: "map", Measured: "logged with " + l.Data.Map, Limit: c.Plan.Map, Entries: ids(c.PlanBy, l.Entry),
	}}
}
