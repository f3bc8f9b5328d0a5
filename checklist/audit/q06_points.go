package audit

import (
	"slices"

	"feedproof/checklist/past"
	"feedproof/checklist/procedures"
	"feedproof/checklist/state"
	"feedproof/schema"
)

var _ = register(Question{
	ID: "Q06", Name: "late-points", Title: "Which hold points were closed late or out of order, and by whom?",
	How: "Closings are taken in order of their counters, never of clock time. One is listed when it says itself that it is late, " +
		"when the point that it follows was not closed before it in that visit, " +
		"or when the act that it guards came first: a joint was opened, a tank cut, or the engine ran after a joint was opened, before its first closing in the visit.",
}, askLatePoints)

func askLatePoints(a *asking) error {
	a.carColumns("visit: number", "point: hold point", "closed: when", "by: who", "second: second person", "why: late, or what came first")
	err := each(a, tablePoints, "", func(record string, rows []pointFact) error {
		for _, f := range rows {
			if err := a.row(record, []string{f.Entry, f.Before}, f.Visit, f.Point, minute(f.at()), f.By, f.Second, f.Why); err != nil {
				return err
			}
		}
		return nil
	})
	a.sortRows(4, 0)
	return err
}

var tablePoints = vehicleTable("points", pointFacts)

// pointFact is a hold point that was closed late or out of order.
type pointFact struct {
	stamp
	Point  string `json:"p"`
	Second string `json:"s,omitempty"`
	Visit  string `json:"v"`
	Why    string `json:"w"`
	Before string `json:"a,omitempty"` // the entry of the act that came first
}

func pointFacts(s subject) []pointFact {
	var out []pointFact
	for _, v := range s.visits {
		closed := map[string]bool{}
		for _, p := range past.Of[schema.HoldPointData](v) {
			if p.Data.Action != schema.ClosePoint {
				continue
			}
			f := pointFact{stamp: *stampOf(p.Entry), Point: p.Data.Point, Second: p.Data.Second, Visit: v.Number}
			template, _ := s.car.Book.Point(p.Data.Point)
			act, acted := firstAct(s.car, v, s.readings, template.Guards)
			switch {
			case p.Data.Late != "":
				f.Why = "late: " + p.Data.Late
			case template.After != "" && !closed[template.After]:
				f.Why = "before " + template.After
			case acted && !closed[template.ID] && schema.Order(act, p.Entry) < 0:
				f.Why, f.Before = "after the "+string(template.Guards)+" that it guards", act.ID
			}
			closed[p.Data.Point] = true
			if f.Why != "" {
				out = append(out, f)
			}
		}
	}
	return out
}

// firstAct is the visit's first act that a point guards. The engine counts
// once a joint was opened in the visit.
func firstAct(c *state.Car, v past.Visit, readings map[string]schema.ReadingData, act procedures.Act) (schema.Entry, bool) {
	var opened bool
	for _, e := range v.Entries {
		i := slices.IndexFunc(c.Openings, func(o state.Opening) bool { return o.Entry.ID == e.ID })
		opened = opened || i >= 0
		switch act {
		case procedures.ActOpening:
			if i >= 0 {
				return e, true
			}
		case procedures.ActCut:
			if i >= 0 && c.Openings[i].HotOrCut {
				return e, true
			}
		case procedures.ActStart:
			if kind, _ := schema.FindReading(readings[e.ID].Test); opened && kind.Starts {
				return e, true
			}
		}
	}
	return schema.Entry{}, false
}
