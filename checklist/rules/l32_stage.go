package rules

import (
	"slices"

	"feedproof/checklist/datalog"
	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/code"
)

// Signatures of a log that speak of the second stage.
const (
	stageJump = "S11" // base pressure jumps
	stageDead = "S12" // nothing changes
)

var _ = register(Rule{
	ID: "L32", Title: "stage 2 was seen to come on",
	What:   "On a car with staged pumps (job e; step e4 applies) the last loaded log must show stage 2 being commanded and pressure answering. A pull that stays below its threshold proves half of the system.",
	Limits: "commanded and answered; no change at the command: HOLD; base pressure jumps by 0.15 bar or more: FLAG; not in the log: not proven",
	Source: "common practice",
	Means:  "A dead stage 2 shows at full boost, when it is too late: relay, trigger wire, fuse or a stuck check valve.",
	Next:   "Pull above the threshold with the command logged; run each pump alone.",
	Words: Words{
		code.Unseen:     {"half of the system never ran", "pull above its threshold with the command logged; run each pump alone"},
		code.Still:      {"stage 2 is dead: relay, trigger, fuse or check valve", "run each pump alone; then relay, trigger wire, fuse and check valve"},
		code.Overloaded: {"the return or the regulator is too small for both pumps", "a wider return or a larger regulator, then pull again"},
	},
	Judge: inVisit(judgeStage),
})

func judgeStage(c *state.Car) []schema.Finding {
	l, ok := lastPull(c, loadChanges...)
	if !ok || !staged(c) {
		return nil
	}
	f := schema.Finding{
		Rule: "L32", Subject: "stage 2", About: "stage 2", Limit: "commanded and answered in the log", Entries: ids(l.Entry),
	}
	dead, jump := verdict(l, stageDead), verdict(l, stageJump)
	switch {
	case dead.State == string(datalog.Seen):
		f.Severity, f.Code, f.Measured = schema.Hold, code.Still, dead.Text
	case dead.State != string(datalog.NotSeen):
		f.Severity, f.Code, f.Measured = schema.Unproven, code.Unseen, "not seen to come on"
	case jump.State == string(datalog.Seen):
		f.Severity, f.Code, f.Measured = schema.Flag, code.Overloaded, jump.Text
	default:
		f.Measured = "came on: " + dead.Text
	}
	return []schema.Finding{f}
}

// staged reports that the pumps come on in stages, or that nobody said not.
func staged(c *state.Car) bool {
	if !c.Has("e") {
		return false
	}
	for _, s := range slices.Backward(c.Steps) {
		if s.Data.Step == "e4" && c.InVisit(s.Entry) {
			return s.Data.State != schema.StepNA
		}
	}
	return true
}

// verdict is what a log's entry keeps under an id; empty without one.
func verdict(l state.Log, id string) schema.Verdict {
	i := slices.IndexFunc(l.Data.Verdicts, func(v schema.Verdict) bool { return v.ID == id })
	if i < 0 {
		return schema.Verdict{}
	}
	return l.Data.Verdicts[i]
}
