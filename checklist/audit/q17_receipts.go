package audit

import (
	"maps"
	"slices"

	"feedproof/schema"
)

var _ = register(Question{
	ID: "Q17", Name: "receipts", Title: "What was fitted and never received, and what was received and never fitted?",
	How: "A fitting is listed when it names no part record, with the reason it gives, when the record it names is not in the shop, or when that record holds no receipt. " +
		"A part record is listed when something of it was received and none was ever fitted in any car; how many came in stands beside it.",
	Needs: "What is kept outside the shop's records, such as a van's stock, does not show.",
}, askReceipts)

func askReceipts(a *asking) error {
	a.carColumns("what: fitted or received", "part: record", "name: what it is", "position: where it was fitted", "date: of the fitting or the first receipt", "count: received", "why: as written at the fitting")
	parts, err := a.parts()
	if err != nil {
		return err
	}
	fitted := map[string]bool{}
	err = each(a, tableFits, "", func(record string, rows []fitFact) error {
		for _, f := range rows {
			fitted[f.Part] = true
			p, known := parts[f.Part]
			what := ""
			switch {
			case f.Part == "":
				what = "fitted without a part record"
			case !known:
				what = "fitted, its record is not in the shop"
			case len(p.Receipts) == 0:
				what = "fitted, never received"
			default:
				continue
			}
			if err := a.row(record, []string{f.In.Entry}, what, f.Part, p.Name, f.Position, f.In.day(), "", f.WhyNone); err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		return err
	}
	a.sortRows(2, 0, 5)
	for _, id := range slices.Sorted(maps.Keys(parts)) {
		p := parts[id]
		if fitted[id] || len(p.Receipts) == 0 {
			continue
		}
		count, entries := 0, []string(nil)
		for _, r := range p.Receipts {
			count += r.Quantity
			entries = append(entries, r.Entry)
		}
		a.add(schema.PartRecord, id, entries, "", "", "received, never fitted", id, p.Name, "", p.Receipts[0].Date, count, "")
	}
	return nil
}
