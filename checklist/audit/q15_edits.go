package audit

import "feedproof/schema"

var _ = register(Question{
	ID: "Q15", Name: "edits", Title: "What was written into a record after it was signed off, or after an incident froze it?",
	How: "Listed is work, plans, cautions, answers and logs that were recorded after the last sign-off of their visit, and every correction of an entry that a sign-off had already covered, or that stood before an incident. " +
		"Notes, evidence, the end of the visit and the re-check may follow a sign-off. The order is that of counters. Nothing is ever overwritten: a correction stands beside what it corrects.",
	Needs: "Bytes that were changed outside the program are found by `feedproof verify`.",
}, askEdits)

func askEdits(a *asking) error {
	a.carColumns("visit: number", "written: when", "by: who", "kind: of entry", "what: recorded after, or what it takes back", "after: date of the sign-off or incident")
	err := each(a, schema.VehicleRecord, tableEdits, "", func(record string, rows []editFact) error {
		for _, f := range rows {
			if err := a.row(record, []string{f.Entry, f.After.Entry, f.Changes}, f.Visit, minute(f.at()), f.By, f.Kind, f.What, f.After.day()); err != nil {
				return err
			}
		}
		return nil
	})
	a.sortRows(0, 3)
	return err
}
