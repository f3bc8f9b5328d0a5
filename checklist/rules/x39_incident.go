package rules

import (
	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/code"
)

var _ = register(Rule{
	ID: "X39", Title: "an incident that no lead has looked at",
	What:   "An incident of this visit, or after the last sign-off, is answered by a lead before the car leaves. A release that did not know of it is withdrawn.",
	Limits: "NOTE: minor, nobody hurt, and it says what was done about it; FLAG: any other; HOLD: somebody was hurt, or nobody knows whether",
	Source: "common practice",
	Means:  "What went wrong once can be wrong still.",
	Next:   "Look at the car, say what was done about it, and answer.",
	Words: Words{
		code.Happened: {"what went wrong once can be wrong still", "a lead looks at the car and answers: feedproof acknowledge CAR"},
		code.Hurt:     {"somebody may have been hurt", "a lead looks at the car and answers: feedproof waive CAR"},
		code.Minor:    {"it was small, and it says what was done about it", ""},
	},
	Judge: judgeIncidents,
})

func judgeIncidents(c *state.Car) []schema.Finding {
	var found []schema.Finding
	for _, e := range c.Standing() {
		d, err := schema.Into[schema.IncidentData](e)
		if err != nil || !c.InVisit(e) {
			continue
		}
		f := schema.Finding{
			Rule: "X39", Subject: e.ID, Code: code.Happened, Severity: schema.Flag, About: "incident: " + d.What, Measured: d.Severity, Limit: "looked at by a lead", Entries: ids(e),
		}
		switch {
		case d.Injury != schema.No:
			f.Severity, f.Code = schema.Hold, code.Hurt
		case d.Severity == "minor" && d.Action != "":
			f.Severity, f.Code = schema.Note, code.Minor
		}
		found = append(found, f)
	}
	return found
}
