package audit

import (
	"slices"
	"time"

	"feedproof/checklist"
	"feedproof/checklist/past"
	"feedproof/checklist/state"
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
	var old []string
	err = each(a, tableVisits, "", func(record string, rows []visitFact) error {
		if only != "" && record != only {
			return nil
		}
		if slices.ContainsFunc(rows, func(v visitFact) bool { return v.Release != nil && (only != "" || v.RuleSet != checklist.RuleSet) }) {
			old = append(old, record)
		}
		return nil
	})
	if err != nil {
		return err
	}
	again, err := onAll(old, func(id string) ([]heavier, error) {
		r, err := a.Record(schema.VehicleRecord, id)
		return judgeAgain(r, shop, a.now, only != ""), err
	})
	if err != nil {
		return err
	}
	for i, found := range again {
		for _, h := range found {
			f, release := h.finding, h.visit.Release
			err := a.row(old[i], append([]string{release.Entry.ID}, f.Entries...), h.visit.Number, date(release.Entry.At), release.Statement.RuleSet, f.Name(), h.was, f.Severity.String(), f.Measured, f.Limit)
			if err != nil {
				return err
			}
		}
	}
	a.sortRows(3, 0, 5)
	return nil
}

// heavier is a finding that was lighter when a visit was signed off, or was not
// shown.
type heavier struct {
	visit   past.Visit
	finding schema.Finding
	was     string
}

func judgeAgain(r schema.Record, shop schema.Shop, now time.Time, all bool) (found []heavier) {
	for _, v := range past.Visits(state.Fold(state.Told(r), schema.Shop{}, now)) {
		if v.Release == nil || !all && v.Release.Statement.RuleSet == checklist.RuleSet {
			continue
		}
		shown := map[string]schema.Severity{}
		for _, f := range v.Release.Statement.Findings {
			shown[f.Topic()] = max(shown[f.Topic()], f.Severity)
		}
		for _, f := range checklist.Evaluate(state.SeenBy(r, v.Release.Entry), shop, v.Release.Entry.At) {
			then, known := shown[f.Topic()]
			if f.Severity < schema.Flag || f.Severity <= then {
				continue
			}
			was := ""
			if known {
				was = then.String()
			}
			found = append(found, heavier{v, f, was})
		}
	}
	return found
}
