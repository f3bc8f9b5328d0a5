package rules

import (
	"fmt"
	"slices"

	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/code"
)

var _ = register(Rule{
	ID: "X23", Title: "not applicable, without a reason",
	What:   "A step that a hold point waits for, or a value of a reading, that is said not to apply without a reason. A bare word such as ok is none.",
	Limits: "a reason in words",
	Source: "common practice",
	Means:  "It was skipped.",
	Next:   "Say why it does not apply, or do it.",
	Words:  Words{code.Unreasoned: {"it was skipped", "say why it does not apply, or do it"}},
	Judge:  inVisit(judgeReasons),
})

func judgeReasons(c *state.Car) []schema.Finding {
	var found []schema.Finding
	last := map[string]state.Step{}
	var order []string
	for _, s := range c.Steps {
		if !c.InVisit(s.Entry) || s.Step.Point == "" {
			continue
		}
		if _, seen := last[s.Data.Step]; !seen {
			order = append(order, s.Data.Step)
		}
		last[s.Data.Step] = s
	}
	for _, id := range order {
		if s := last[id]; s.Data.State == schema.StepNA && !reason(s.Data.Why) {
			found = append(found, unreasoned("step "+id, s.Data.Why, s.Entry))
		}
	}
	for _, t := range schema.Readings {
		r, _ := c.Last(t.Name)
		for _, v := range r.Data.Values {
			if v.State == schema.NotApplicable && !reason(v.Why) {
				found = append(found, unreasoned(t.Name+" "+v.Name, v.Why, r.Entry))
			}
		}
	}
	return numbered(found)
}

// reason reports that a text says why.
func reason(text string) bool {
	return says(text) && !slices.Contains([]string{"n/a", "na", "not applicable"}, word(text))
}

func unreasoned(about, why string, e schema.Entry) schema.Finding {
	f := schema.Finding{
		Rule: "X23", Subject: about, Code: code.Unreasoned, Severity: schema.Hold, About: about, Measured: "not applicable, no reason", Limit: "a reason in words", Entries: ids(e),
	}
	if why != "" {
		f.Measured = fmt.Sprintf("not applicable, %q", why)
	}
	return f
}
