package audit

import (
	"slices"

	"feedproof/checklist/past"
	"feedproof/checklist/state"
	"feedproof/schema"
)

var _ = register(Question{
	ID: "Q28", Name: "one-pair", Title: "Which hold points of two persons were closed by one?",
	How: "Listed is every closing of a hold point that asks for two persons which nobody else confirmed with an entry of their own that had seen it. " +
		"A second person who is only named has signed nothing. Who works alone may stand in for the second, delayed: such a closing is listed with that reason.",
	Needs: "A confirmation that came too late, or after the act that the point guards, is judged by `feedproof check CAR`. That two signed does not show that two looked.",
}, askOnePair)

func askOnePair(a *asking) error {
	a.carColumns("visit: number", "point: hold point", "closed: when", "by: who", "named: the second person that it names, who has not confirmed", "why: reason in the closing", "left: date of the sign-off after it")
	err := each(a, tableOnePair, "", func(record string, rows []onePairFact) error {
		for _, f := range rows {
			if err := a.row(record, []string{f.Entry, f.Left.id()}, f.Visit, f.Point, minute(f.at()), f.By, f.Named, f.Why, f.Left.day()); err != nil {
				return err
			}
		}
		return nil
	})
	a.sortRows(0, 4)
	return err
}

var tableOnePair = vehicleTable("one-pair", onePairFacts)

// onePairFact is a closing of a point of two that one person signed.
type onePairFact struct {
	stamp
	Visit string `json:"v"`
	Point string `json:"p"`
	Named string `json:"n,omitempty"`
	Why   string `json:"w,omitempty"`
	Left  *stamp `json:"l,omitempty"` // the sign-off under which the car left with it
}

func onePairFacts(s subject) []onePairFact {
	var out []onePairFact
	for _, v := range s.visits {
		for _, p := range past.Of[schema.HoldPointData](v) {
			template, _ := s.car.Book.Point(p.Data.Point)
			if !template.Two || p.Data.Action != schema.ClosePoint || otherConfirmed(s.car, p.Entry) {
				continue
			}
			f := onePairFact{stamp: *stampOf(p.Entry), Visit: v.Number, Point: p.Data.Point, Named: p.Data.Second, Why: p.Data.Why}
			if v.Release != nil && schema.Order(p.Entry, v.Release.Entry) < 0 {
				f.Left = stampOf(v.Release.Entry)
			}
			out = append(out, f)
		}
	}
	return out
}

// otherConfirmed reports that somebody else signed that they saw a closing.
func otherConfirmed(c *state.Car, closing schema.Entry) bool {
	return slices.ContainsFunc(c.Confirmations, func(s state.Confirmation) bool {
		return s.Data.Entry == closing.ID && s.Entry.By != closing.By && c.Sight.Saw(s.Entry.ID, closing.ID)
	})
}
