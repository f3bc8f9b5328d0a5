package audit

import (
	"slices"

	"feedproof/checklist"
	"feedproof/checklist/car"
	"feedproof/checklist/past"
	"feedproof/schema"
)

var _ = register(Question{
	ID: "Q12", Name: "new-rules", Title: "What would today's rules have found at releases that were signed under another rule set?",
	Args: []Arg{{Name: "CAR", What: "one car, whatever its rule set; without it every release under another set than this program's", Kind: Car, Optional: true}},
	How: "Each sign-off names its rule set and carries the findings as they were shown. The record as the lead saw it, the entries before the sign-off in order of counters, " +
		"is judged again at the moment of the sign-off by this program's rules. Listed is what is heavier now than it was shown, FLAG and above. Nothing is rewritten: the record keeps what was shown.",
	Needs: "Gauges, parts and shop limits are taken as they are known today: a gauge found bad since then shows here too.",
}, askNewRules)

func askNewRules(a *asking) error {
	a.carColumns("visit: number", "released: date", "rule_set: then", "finding: rule and what it judged", "then: as shown, blank when it was not", "now: by rule set "+checklist.RuleSet, "measured: now", "limit: now")
	shop, err := a.Shop()
	if err != nil {
		return err
	}
	only := a.args["CAR"]
	err = each(a, schema.VehicleRecord, tableVisits, "", func(record string, rows []visitFact) error {
		if only != "" && record != only {
			return nil
		}
		old := slices.ContainsFunc(rows, func(v visitFact) bool { return v.Release != nil && (only != "" || v.RuleSet != checklist.RuleSet) })
		if !old {
			return nil
		}
		r, err := a.Record(schema.VehicleRecord, record)
		if err != nil {
			return err
		}
		return a.judgeAgain(r, shop, only != "")
	})
	a.sortRows(3, 0, 5)
	return err
}

func (a *asking) judgeAgain(r schema.Record, shop schema.Shop, all bool) error {
	for _, v := range past.Visits(car.Fold(r, schema.Shop{}, a.now)) {
		if v.Release == nil || !all && v.Release.Statement.RuleSet == checklist.RuleSet {
			continue
		}
		st := v.Release.Statement
		shown := map[string]schema.Severity{}
		for _, f := range st.Findings {
			shown[f.Key()] = max(shown[f.Key()], f.Severity)
		}
		for _, f := range checklist.Evaluate(before(r, v.Release.Entry), shop, v.Release.Entry.At) {
			then, known := shown[f.Key()]
			if f.Severity < schema.Flag || f.Severity <= then {
				continue
			}
			was := ""
			if known {
				was = then.String()
			}
			err := a.row(r.ID, append([]string{v.Release.Entry.ID}, f.Entries...), v.Number, date(v.Release.Entry.At), st.RuleSet, f.Key(), was, f.Severity.String(), f.Measured, f.Limit)
			if err != nil {
				return err
			}
		}
	}
	return nil
}

// before is the record as the writer of an entry saw it.
func before(r schema.Record, e schema.Entry) schema.Record {
	r = r.With()
	r.Entries = slices.DeleteFunc(r.Entries, func(x schema.Entry) bool { return schema.Order(x, e) >= 0 })
	return r
}
