package audit

import (
	"slices"
	"strings"
)

var _ = register(Question{
	ID: "Q01", Name: "lot", Title: "Which cars have this part or lot, now or ever?",
	Args: []Arg{{Name: "LOT", What: "a part record, a lot code or a serial number"}},
	How: "Every part record of that id, lot code or serial is found, and every fitting that names one of them or that serial. " +
		"The part is in the car until a removal in its position, or until another one was fitted there. " +
		"The odometer is that of the visit in which it was fitted or came out. The owner is a reference: names and addresses are kept apart.",
	Needs: "A part that was fitted without a record, as \"untraceable\" or the customer's own, cannot be found by its lot: see `receipts`.",
}, askLot)

func askLot(a *asking) error {
	a.carColumns("position: where it is", "part: record", "lot: lot or serial as received", "fitted: date", "fitted_km: odometer", "removed: date, empty while it is in", "removed_km: odometer", "why: why it came out", "owner: reference")
	lot := a.args["LOT"]
	parts, err := a.parts()
	if err != nil {
		return err
	}
	named := partsNamed(parts, lot)
	err = each(a, tableFits, "", func(record string, rows []fitFact) error {
		for _, f := range rows {
			if !slices.Contains(named, f.Part) && !containsFold(f.Serials, lot) {
				continue
			}
			owner, err := a.car(record)
			if err != nil {
				return err
			}
			err = a.row(record, []string{f.In.Entry, f.Out.id()}, f.Position, f.Part, lotOf(parts[f.Part], f.Serials), f.In.day(), orBlank(f.At), f.Out.day(), orBlank(f.Until), f.Why, owner.Owner)
			if err != nil {
				return err
			}
		}
		return nil
	})
	a.sortRows(7, 0, 2)
	for _, id := range named {
		if p := parts[id]; p.OnHold != nil {
			a.note("part %s is on hold since %s: %s", id, p.OnHold.day(), p.WhyHeld)
		}
	}
	switch {
	case len(named) > 0:
	case len(a.answer.Rows) > 0:
		a.note("no part record has this id, lot or serial; it was written down when the part was fitted")
	default:
		a.note("no part record and no fitting has this id, lot or serial")
	}
	return err
}

// partsNamed lists the part records of an id, lot or serial.
func partsNamed(parts map[string]partFact, name string) []string {
	var out []string
	for id, p := range parts {
		if name != "" && (strings.EqualFold(id, name) || strings.EqualFold(p.Lot, name) || strings.EqualFold(p.Serial, name)) {
			out = append(out, id)
		}
	}
	slices.Sort(out)
	return out
}

func containsFold(list []string, s string) bool {
	return slices.ContainsFunc(list, func(x string) bool { return strings.EqualFold(x, s) })
}

func lotOf(p partFact, serials []string) string {
	if len(serials) > 0 {
		return strings.Join(serials, " ")
	}
	if p.Lot != "" {
		return p.Lot
	}
	return p.Serial
}
