package audit

import "feedproof/schema"

var _ = register(Question{
	ID: "Q06", Name: "late-points", Title: "Which hold points were closed late or out of order, and by whom?",
	How: "Closings are taken in order of their counters, never of clock time. One is listed when it says itself that it is late, " +
		"when the point that it follows was not closed before it in that visit, " +
		"or when the act that it guards came first: a joint was opened, a tank cut, or the engine ran after a joint was opened, before its first closing in the visit.",
}, askLatePoints)

func askLatePoints(a *asking) error {
	a.carColumns("visit: number", "point: hold point", "closed: when", "by: who", "second: second person", "why: late, or what came first")
	err := each(a, schema.VehicleRecord, tablePoints, "", func(record string, rows []pointFact) error {
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
