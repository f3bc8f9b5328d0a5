package audit

import (
	"feedproof/checklist/past"
)

var _ = register(Question{
	ID: "Q08", Name: "beyond-envelope", Title: "Which cars are run harder than the envelope under which they last left?",
	How: "What the customer declared at the last visit at which anything was declared is compared with the envelope of the last sign-off, which may have come after it: " +
		"power, manifold pressure (a declared boost is taken over 101.3 kPa), and ethanol on both sides. Equal is within.",
	Needs: "What was not declared is not compared: `feedproof history CAR --since-last` lists what to ask.",
}, askBeyondEnvelope)

func askBeyondEnvelope(a *asking) error {
	a.carColumns("visit: at which it was declared", "declared_on: date", "what: power, manifold pressure or ethanol", "declared: by the customer", "limit: of the envelope", "released: date of the sign-off")
	err := each(a, tableBounded, `"d":{`, func(record string, rows []boundedVisit) error {
		var declared, under *boundedVisit
		for i := range rows {
			if rows[i].Declared != nil {
				declared = &rows[i]
			}
			if rows[i].Release != nil {
				under = &rows[i]
			}
		}
		if declared == nil || under == nil {
			return nil
		}
		for _, x := range past.AgainstEnvelope(declared.Declared, *under.Envelope) {
			if !x.Beyond {
				continue
			}
			if err := a.row(record, []string{declared.Open.Entry, under.Release.Entry}, declared.No, declared.Open.day(), x.What, x.Declared, x.Limit, under.Release.day()); err != nil {
				return err
			}
		}
		return nil
	})
	a.sortRows(0, 4)
	return err
}
