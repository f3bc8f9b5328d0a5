package rules

import (
	"fmt"

	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/code"
)

var _ = register(Rule{
	ID: "X22", Title: "plugs in and out",
	What:   "Where plugs were counted: those that went into open lines, C4, against those that came out, F5. The last C4 before an F5 counts.",
	Limits: "as many out as in",
	Source: "common practice",
	Means:  "A plug is still in a line, or a line was left open.",
	Next:   "Find it before fuel goes in.",
	Words:  Words{code.Contradicts: {"one is still in a line, or a line is open", "find it before fuel goes in"}},
	Judge:  inVisit(judgePlugs),
})

func judgePlugs(c *state.Car) []schema.Finding {
	in, out := state.Step{}, state.Step{}
	for _, s := range c.Steps {
		if s.Data.Count == "" || !c.InVisit(s.Entry) {
			continue
		}
		switch s.Data.Step {
		case "C4":
			in, out = s, state.Step{}
		case "F5":
			out = s
		}
	}
	if in.Data.Count == "" || out.Data.Count == "" || in.Data.Count.Float() == out.Data.Count.Float() {
		return nil
	}
	return []schema.Finding{{
		Rule: "X22", Subject: "plugs", Code: code.Contradicts, Severity: schema.Hold, Values: []schema.Amount{called("in", string(in.Data.Count)), called("out", string(out.Data.Count))}, About: "plugs", Measured: fmt.Sprintf("%s in, %s out", in.Data.Count, out.Data.Count), Limit: "as many out as in",
		Entries: ids(in.Entry, out.Entry),
	}}
}
