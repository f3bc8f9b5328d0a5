package audit

import (
	"feedproof/checklist"
	"feedproof/schema"
)

var _ = register(Question{
	ID: "Q16", Name: "stops", Title: "Which STOPs are open, and for how long?",
	How:   "Every car that is in the shop, or that left held, is judged now by this program's rules on its committed record. A STOP that nothing has ended is listed, oldest first; its age is from the oldest entry it rests on.",
	Needs: "A STOP in a draft shows on the board of its machine. What was stopped and mended stands in the record's holds: `feedproof history CAR`.",
}, askStops)

func askStops(a *asking) error {
	a.carColumns("finding: rule and what it judged", "measured: or what is missing", "days: since", "since: date", "next: what to do", "here: the car is in the shop")
	shop, err := a.Shop()
	if err != nil {
		return err
	}
	var open []judged
	err = each(a, tableCars, "", func(record string, rows []carFact) error {
		if rows[0].Here || rows[0].Held != nil {
			open = append(open, judged{id: record, here: rows[0].Here})
		}
		return nil
	})
	if err != nil {
		return err
	}
	open, err = onAll(open, func(c judged) (judged, error) {
		var err error
		if c.record, err = a.Record(schema.VehicleRecord, c.id); err == nil {
			c.findings = checklist.Evaluate(c.record, shop, a.now)
		}
		return c, err
	})
	if err != nil {
		return err
	}
	for _, c := range open {
		if err := a.stopRows(c); err != nil {
			return err
		}
	}
	a.sortRows(5, 0, 2)
	return nil
}

// judged is a car and what was found in it.
type judged struct {
	id       string
	here     bool
	record   schema.Record
	findings []schema.Finding
}

func (a *asking) stopRows(c judged) error {
	for _, f := range c.findings {
		if f.Severity != schema.Stop || f.Answered != "" {
			continue
		}
		since := a.now
		for _, id := range f.Entries {
			if e, ok := c.record.Entry(id); ok && e.At.Before(since) {
				since = e.At
			}
		}
		if err := a.row(c.id, f.Entries, f.Name(), f.Measured, daysBetween(since, a.now), date(since), f.Next, c.here); err != nil {
			return err
		}
	}
	return nil
}
