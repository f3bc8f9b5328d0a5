package rules

import (
	"fmt"
	"time"

	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/code"
)

var _ = register(Rule{
	ID: "X25", Title: "one person at two devices in the same minute",
	What:   "Two readings of one person, taken within one minute and typed on two devices. Readings that were written late are not compared.",
	Limits: "more than a minute apart",
	Source: "common practice",
	Means:  "Somebody else took one of them under that name.",
	Next:   "Say who read which; each person records under their own name.",
	Words:  Words{code.Together: {"somebody else took one of them under that name", "say who read which"}},
	Judge:  inVisit(judgeOverlap),
})

func judgeOverlap(c *state.Car) []schema.Finding {
	var found []schema.Finding
	for i := range c.Readings {
		a := &c.Readings[i]
		if !c.InVisit(a.Entry) || a.Data.Late != "" || a.Entry.Late() {
			continue
		}
		for j := range c.Readings[i+1:] {
			if b := &c.Readings[i+1+j]; together(a, b) {
				found = append(found, schema.Finding{
					Rule: "X25", Subject: a.Entry.ID + " " + b.Entry.ID, Code: code.Together, Severity: schema.Flag, About: fmt.Sprintf("%s and %s by %s", a.Data.Test, b.Data.Test, a.Entry.By), Limit: "more than a minute apart",
					Measured: fmt.Sprintf("%s on %s, %s on %s", a.Entry.At.Format("15:04:05"), a.Entry.Device, b.Entry.At.Format("15:04:05"), b.Entry.Device),
					Entries:  ids(a.Entry, b.Entry),
				})
			}
		}
	}
	return found
}

func together(a, b *state.Reading) bool {
	x, y := &a.Entry, &b.Entry
	return x.Device != y.Device && x.By == y.By && b.Data.Late == "" && !y.Late() && x.At.Sub(y.At).Abs() < time.Minute
}
