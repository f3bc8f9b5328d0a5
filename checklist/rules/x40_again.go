package rules

import (
	"slices"

	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/code"
)

var _ = register(Rule{
	ID: "X40", Title: "an opening or a cut, taken back and recorded again",
	What:   "An opening or a cut was recorded, taken back, and recorded again later in the same visit. If it was done when it was first recorded, what had to be shown before it was shown after it.",
	Limits: "recorded once",
	Source: "common practice",
	Means:  "Taking an act back hides that it came before its proof.",
	Next:   "A lead asks when it was done, and answers.",
	Words: Words{
		code.Again: {"it may have been done before what had to be shown first", "a lead asks when it was done, and answers: feedproof acknowledge CAR"},
	},
	Judge: inVisit(judgeAgain),
})

func judgeAgain(c *state.Car) []schema.Finding {
	var found []schema.Finding
	for _, o := range c.VisitOpenings() {
		act, err := schema.Into[schema.StepData](o.Entry)
		if err != nil {
			continue
		}
		i := slices.IndexFunc(c.Written(), func(e schema.Entry) bool {
			first, err := schema.Into[schema.StepData](e)
			return err == nil && c.TakenBack(e) && c.InVisit(e) && first.Step == act.Step && first.Joint == act.Joint && schema.Order(e, o.Entry) < 0 && c.First(o.Entry).ID == o.Entry.ID
		})
		if i < 0 {
			continue
		}
		first := c.Written()[i]
		found = append(found, schema.Finding{
			Rule: "X40", Subject: o.Entry.ID, Code: code.Again, Severity: schema.Flag, About: o.Joint + ", step " + act.Step, Measured: "recorded " + first.At.UTC().Format("15:04") + ", taken back, recorded again " + o.Entry.At.UTC().Format("15:04"),
			Limit: "recorded once", Entries: ids(first, o.Entry),
		})
	}
	return found
}
