package rules

import (
	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/code"
)

var _ = register(Rule{
	ID: "X21", Title: "a log too smooth for a sensor",
	What:   "The pressure difference of the last loaded log that stands stiller than any sensor on a running engine.",
	Limits: "standard deviation at least 0.003 bar in any 3 s",
	Source: "common practice",
	Means:  "The channel is filtered, computed, copied or made up. It proves nothing.",
	Next:   "Log again with the filter off; keep the file as the logger wrote it.",
	Words:  Words{code.Smooth: {"filtered, computed or copied: it proves nothing", "log again with the filter off"}},
	Judge:  inVisit(judgeSmooth),
})

func judgeSmooth(c *state.Car) []schema.Finding {
	l, _ := lastPull(c, loadChanges...)
	why := logTrouble(l, "X21")
	if why == "" {
		return nil
	}
	return []schema.Finding{{
		Rule: "X21", Subject: "log", Code: code.Smooth, Severity: schema.Unproven, About: "noise of the log", Measured: why, Limit: "at least 0.003 bar in 3 s", Entries: ids(l.Entry),
	}}
}
