package rules

import (
	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/code"
)

var _ = register(Rule{
	ID: "X27", Title: "flow timed without pressure",
	What:   "A timed flow into an open hose says what the pump gives at no pressure. It is not the flow test and proves neither pump nor reserve.",
	Limits: "timed at more than 0.05 bar (0.7 psi)",
	Source: "common practice",
	Means:  "Every pump gives much more at no pressure than at that of the rail.",
	Next:   "Hold it at base + boost with the regulator or a valve, and time it again.",
	Words:  Words{code.Unpressured: {"it says nothing about the flow at pressure", "hold it at base + boost and time it again"}},
	Judge:  inVisit(judgeOpenHose),
})

func judgeOpenHose(c *state.Car) []schema.Finding {
	t, ok := lastFlow(c)
	if !ok || !t.openPipe() {
		return nil
	}
	return []schema.Finding{{
		Rule: "X27", Subject: "flow", Code: code.Unpressured, Severity: schema.Unproven, Values: t.values(), About: "flow timed without pressure", Measured: t.String(), Limit: "at base + boost", Entries: ids(t.reading.Entry),
	}}
}
