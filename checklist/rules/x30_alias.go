package rules

import (
	"feedproof/checklist/datalog"
	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/code"
)

const swingTooSlow = "S10"

var _ = register(Rule{
	ID: "X30", Title: "a swing that may be an alias",
	What:    "A slow swing of rail pressure in a log whose rate is too low for the injectors' own pulses: it may be those pulses, sampled too seldom, and nothing that the regulator does.",
	Formula: "f_pulse = n / 120 x cylinders; its alias at the log's rate f_s is |f_pulse - k f_s| for the nearest whole k",
	Limits:  "not proven until it was logged faster, or the speed was moved",
	Source:  "sampling theorem; common practice",
	Means:   "Nobody knows whether the regulator hunts. A fault that is not there would be mended.",
	Next:    "Log at 1 kHz or more, or move the speed by 200 rpm: an alias moves at once, hunting does not.",
	Words:   Words{code.Aliased: {"it may be the injectors' pulses, sampled too seldom", "log at 1 kHz or more, or move the speed by 200 rpm"}},
	Judge:   inVisit(judgeAlias),
})

func judgeAlias(c *state.Car) []schema.Finding {
	l, _ := lastPull(c, loadChanges...)
	v := verdict(l, swingTooSlow)
	if v.State != string(datalog.Seen) {
		return nil
	}
	return []schema.Finding{{
		Rule: "X30", Subject: "log", Code: code.Aliased, Severity: schema.Unproven, About: "swing of rail pressure", Measured: v.Text, Limit: "logged fast enough to tell", Entries: ids(l.Entry),
	}}
}
