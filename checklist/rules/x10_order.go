package rules

import (
	"fmt"
	"slices"
	"time"

	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/code"
	"feedproof/schema/quantity"
)

var _ = register(Rule{
	ID: "X10", Title: "acts in an order that cannot be",
	What: "A part that was fitted before it was received; a hold point closed before the one that it follows, such as HP7 before HP5; " +
		"and the pump run to a stall, B7, at a time when the plug already read dead, B8, with nothing between that ran the pump.",
	Limits: "each act after what it needs",
	Source: "common practice",
	Means:  "At least one of the times or entries is not what happened.",
	Next:   "Correct the entry that is wrong; if both are right, say how.",
	Words:  Words{otherwise: {"one of the two is not what happened", "correct the entry that is wrong"}},
	Judge:  inVisit(judgeOrder),
})

func judgeOrder(c *state.Car) []schema.Finding {
	return slices.Concat(fittedUnreceived(c), closedTooSoon(c), ranWhenDead(c))
}

func impossible(why code.Code, about, measured string, entries ...schema.Entry) schema.Finding {
	return schema.Finding{
		Rule: "X10", Subject: entries[len(entries)-1].ID, Code: why, Severity: schema.Hold, About: about, Measured: measured, Limit: "in an order that can be", Entries: ids(entries...),
	}
}

func fittedUnreceived(c *state.Car) []schema.Finding {
	var found []schema.Finding
	for _, ch := range c.Changes {
		fit, _ := schema.Into[schema.FitData](ch.Entry) // a removal names no part
		received := firstReceipt(c, fit.Part)
		if fitted := ch.Entry.At.UTC().Add(aheadOfUTC).Format(time.DateOnly); c.InVisit(ch.Entry) && fitted < received {
			found = append(found, impossible(code.Early, "part of the "+fit.Position, fmt.Sprintf("fitted %s, received %s", fitted, received), ch.Entry))
		}
	}
	return found
}

// aheadOfUTC is how far the date of a shop, in which receipts are dated, can be
// ahead of that in UTC. Source: the time zone database.
const aheadOfUTC = 14 * time.Hour

// firstReceipt is the earliest date on which a part came in; empty when it is
// not known.
func firstReceipt(c *state.Car, part string) string {
	if c.Shop.Part == nil {
		return ""
	}
	r, _ := c.Shop.Part(part)
	var dates []string
	for _, e := range state.Standing(r) {
		if d, err := schema.Into[schema.ReceiptData](e); err == nil {
			dates = append(dates, d.Date)
		}
	}
	slices.Sort(dates)
	if len(dates) == 0 {
		return ""
	}
	return dates[0]
}

func closedTooSoon(c *state.Car) []schema.Finding {
	var found []schema.Finding
	closed := map[string]bool{}
	for _, e := range c.Points {
		if e.Data.Action != schema.ClosePoint || !c.InVisit(e.Entry) {
			continue
		}
		closed[e.Data.Point] = true
		if p, _ := c.Book.Point(e.Data.Point); p.After != "" && !closed[p.After] {
			found = append(found, impossible(code.Early, "hold point "+p.ID, "closed before "+p.After, e.Entry))
		}
	}
	return found
}

// ranWhenDead compares times as claimed, because that is where it shows.
func ranWhenDead(c *state.Car) []schema.Finding {
	var found []schema.Finding
	for _, s := range c.Steps {
		if s.Data.Step != "B7" || s.Data.State != schema.StepDone {
			continue
		}
		for _, dead := range c.All("plug") {
			if readsDead(c, dead) && dead.Entry.At.Before(s.Entry.At) && !ranAtTimeBetween(c, dead.Entry.At, s.Entry.At) {
				found = append(found, impossible(code.Contradicts, "pump run to a stall", "after the plug read dead at "+dead.Entry.At.Format("15:04"), dead.Entry, s.Entry))
				break
			}
		}
	}
	return found
}

func readsDead(c *state.Car, r state.Reading) bool {
	m, ok := read[quantity.Voltage](c, r, "volts")
	return ok && !live(m.value)
}

func ranAtTimeBetween(c *state.Car, from, to time.Time) bool {
	return slices.ContainsFunc(c.Readings, func(r state.Reading) bool {
		return r.Kind().Runs >= schema.RunsPump && r.Entry.At.After(from) && r.Entry.At.Before(to)
	})
}
