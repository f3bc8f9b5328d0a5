package rules

import (
	"fmt"
	"time"

	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/code"
)

const (
	clockBack  = 2 * time.Minute
	clockApart = 5 * time.Minute
)

var _ = register(Rule{
	ID: "X17", Title: "clocks that disagree",
	What: "In the order of the entries, the clock of one device runs back by more than 2 minutes, or an entry of another device was typed more than 5 minutes before the one it follows. " +
		"The order counts, never the clock. Rules that need a time between two entries find it negative or too short, and say so themselves.",
	Limits: "2 minutes on one device, 5 between two: a note",
	Source: "common practice",
	Means:  "A clock is wrong, or two devices worked apart and were brought together later.",
	Next:   "Set the clock of the device.",
	Words:  Words{code.Backwards: {"a clock is wrong, or they worked apart", "set the clock"}},
	Judge:  inVisit(judgeClocks),
})

func judgeClocks(c *state.Car) []schema.Finding {
	var found []schema.Finding
	said := map[string]bool{}
	last := map[string]schema.Entry{}
	var before schema.Entry
	for _, e := range c.Written() {
		if !c.InVisit(e) {
			continue
		}
		own := last[e.Device]
		switch {
		case own.Entered.Sub(e.Entered) > clockBack:
			found = append(found, clockFinding(e.Device, "clock of "+e.Device, own, e, said)...)
		case before.Entered.Sub(e.Entered) > clockApart:
			found = append(found, clockFinding(before.Device+" "+e.Device, "clocks of "+before.Device+" and "+e.Device, before, e, said)...)
		}
		last[e.Device], before = e, e
	}
	return found
}

func clockFinding(subject, about string, a, b schema.Entry, said map[string]bool) []schema.Finding {
	if said[subject] {
		return nil
	}
	said[subject] = true
	return []schema.Finding{{
		Rule: "X17", Subject: subject, Code: code.Backwards, Severity: schema.Note, About: about, Measured: fmt.Sprintf("%.0f min back, against the order", a.Entered.Sub(b.Entered).Minutes()),
		Limit: "the order counts", Entries: ids(a, b),
	}}
}
