package rules

import (
	"feedproof/checklist/state"
	"feedproof/schema"
)

var _ = register(Rule{
	ID: "X39", Title: "an incident that no lead has looked at",
	What:   "An incident of this visit, or after the last sign-off, is answered by a lead before the car leaves. A release that did not know of it is withdrawn.",
	Limits: "NOTE: minor, nobody hurt, and it says what was done about it; FLAG: any other; HOLD: somebody was hurt, or nobody knows whether",
	Source: "common practice",
	Means:  "What went wrong once can be wrong still.",
	Next:   "Look at the car, say what was done about it, and answer.",
	Judge:  judgeIncidents,
})

func judgeIncidents(c *state.Car) []schema.Finding {
	var found []schema.Finding
	for _, e := range c.Standing() {
		d, err := schema.Into[schema.IncidentData](e)
		if err != nil || !c.InVisit(e) {
			continue
		}
		f := schema.Finding{
			Rule: "X39", Severity: schema.Flag, About: "incident: " + d.What, Measured: d.Severity, Limit: "looked at by a lead", Entries: ids(e),
			Means: "what went wrong once can be wrong still", Next: "a lead looks at the car and answers: feedproof acknowledge CAR",
		}
		switch {
		case d.Injury != schema.No:
			f.Severity, f.Next = schema.Hold, "a lead looks at the car and answers: feedproof waive CAR"
		case d.Severity == "minor" && d.Action != "":
			f.Severity, f.Next = schema.Note, ""
		}
		found = append(found, f)
	}
	return found
}
