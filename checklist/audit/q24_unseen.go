package audit

import "feedproof/schema"

var _ = register(Question{
	ID: "Q24", Name: "unseen", Title: "What had each sign-off not seen?",
	How: "Listed is every entry of the car that was written elsewhere, on a machine that did not know of the sign-off and that the sign-off did not know of, whatever any clock says. " +
		"What is bad in one withdraws the release; what is good in one proves nothing for it.",
	Needs: "What the lead's machine had not received yet when it signed is told by what each entry's writer had seen.",
}, askUnseen)

func askUnseen(a *asking) error {
	a.carColumns("signed: date of the sign-off", "by: the lead", "written: when", "by whom: who wrote it", "kind: of entry", "machine: where it was typed")
	err := each(a, tableUnseen, "", func(record string, rows []unseenFact) error {
		for _, f := range rows {
			if err := a.row(record, []string{f.SignOff.Entry, f.Entry}, f.SignOff.day(), f.SignOff.By, minute(f.at()), f.By, f.Kind, f.Device); err != nil {
				return err
			}
		}
		return nil
	})
	a.sortRows(0, 1, 3)
	return err
}

var tableUnseen = vehicleTable("unseen", unseenFacts)

// unseenFact is an entry that a sign-off had not seen.
type unseenFact struct {
	stamp
	SignOff *stamp `json:"s"`
	Kind    string `json:"k"`
	Device  string `json:"d"`
}

func unseenFacts(s subject) []unseenFact {
	var out []unseenFact
	for _, signed := range s.car.SignOffs {
		for _, e := range s.car.Sight.Unseen(signed.Entry.ID) {
			if !s.car.TakenBack(e) && e.Kind != (schema.CorrectData{}).EntryKind() {
				out = append(out, unseenFact{*stampOf(e), stampOf(signed.Entry), e.Kind, e.Device})
			}
		}
	}
	return out
}
