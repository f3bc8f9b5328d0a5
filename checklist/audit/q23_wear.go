package audit

import (
	"time"

	"feedproof/checklist"
	"feedproof/checklist/fuel"
	"feedproof/checklist/state"
	"feedproof/schema"
)

var _ = register(Question{
	ID: "Q23", Name: "wear", Title: "Whose pumps come down to their least margin, and when?",
	How: "Every car with three timed flows (V-12) or more, since its pumps were last changed, at different distances or days. Each is divided by the curve at its own pressure and volts; a weighted line through them gives the flow margin of the plan and its 95 % lower bound at the last test, " +
		"and where that bound meets the least margin. Nothing is said further ahead than the tests reach back. `feedproof explain L43` has the formula.",
	Needs: "A plan that can be computed, and a pump with a curve. A car with fewer tests is counted below the rows, and nothing is shown of its pumps.",
}, askWear)

func askWear(a *asking) error {
	a.carColumns("tests: how many", "last: date of the last", "margin: by the line, there", "low: its lower bound", "least: of the plan", "meets: yes where the bound comes down to it", "by: date, or as far as anything is said", "says: in words")
	shop, err := a.Shop()
	if err != nil {
		return err
	}
	var asked []string
	err = each(a, tableFlows, "", func(record string, rows []flowFact) error {
		if len(rows) >= fuel.TrendVisits {
			asked = append(asked, record)
		}
		return nil
	})
	if err != nil {
		return err
	}
	worn, err := onAll(asked, func(id string) (checklist.PumpWear, error) {
		r, err := a.Record(schema.VehicleRecord, id)
		if err != nil {
			return checklist.PumpWear{}, err
		}
		w, err := checklist.Wear(state.Fold(state.Told(r), shop, a.now))
		if err != nil {
			w.Why = err.Error()
		}
		return w, nil
	})
	if err != nil {
		return err
	}
	few := 0
	for i, w := range worn {
		if w.Trend == nil {
			few++
			continue
		}
		if err := a.wearRow(asked[i], w); err != nil {
			return err
		}
	}
	a.sortRows(9, 0)
	if few > 0 {
		a.note("%d cars with three timed flows or more have no trend: another pump since, the same day, or no plan", few)
	}
	return nil
}

func (a *asking) wearRow(record string, w checklist.PumpWear) error {
	var entries []string
	for _, t := range w.Tests {
		entries = append(entries, t.Entry.ID)
	}
	by := ""
	if day, ok := w.By(); ok {
		by = day.Format(time.DateOnly)
	}
	return a.row(record, entries, len(w.Tests), date(w.Tests[len(w.Tests)-1].Entry.At), rounded(float64(w.Margin), 3), rounded(float64(w.Low), 3), rounded(float64(w.Level), 2), w.Meets, by, w.Outlook())
}
