package audit

import (
	"strings"
	"time"
)

var _ = register(Question{
	ID: "Q04", Name: "waivers", Title: "Which waivers are active or expired, which cars left with one, who repeats, and which reasons were copied?",
	How: "Every waiver that was not taken back. It is active to the end of the day on which it expires, and expired after it. " +
		"The car left with it when a sign-off came after it in the same visit. Repeats counts the waivers of that rule by that lead in the whole shop. " +
		"Copied counts the cars with a waiver of the same reason, word for word but for capitals and spaces: one reason on many cars is a blanket, and nobody looked at each.",
	Needs: "A waiver also lapses when what was measured changes: `feedproof check CAR` judges that.",
}, askWaivers)

func askWaivers(a *asking) error {
	a.carColumns("visit: number", "finding: rule and what it judged", "measured: then", "by: lead", "given: date", "expires: date", "state: active or expired", "left: date of the sign-off under which the car left with it", "informed: the customer knows", "repeats: waivers of that rule by that lead", "copied: cars with a waiver of the same reason")
	type line struct {
		record string
		waiverFact
	}
	var all []line
	repeats, copied := map[string]int{}, map[string]map[string]bool{} // cars by reason
	err := each(a, tableWaivers, "", func(record string, rows []waiverFact) error {
		for _, w := range rows {
			all = append(all, line{record, w})
			repeats[w.By+" "+ruleOf(w.Finding)]++
			if copied[w.Why] == nil {
				copied[w.Why] = map[string]bool{}
			}
			copied[w.Why][record] = true
		}
		return nil
	})
	if err != nil {
		return err
	}
	for _, w := range all {
		err := a.row(w.record, []string{w.Entry, w.Left.id()}, w.Visit, w.Finding, w.Measured, w.By, w.day(), w.Expires, waiverState(w.Expires, a.now), w.Left.day(), string(w.Informed),
			repeats[w.By+" "+ruleOf(w.Finding)], len(copied[w.Why]))
		if err != nil {
			return err
		}
	}
	a.sortRows(8, 7, 0)
	return nil
}

// waiverState holds a waiver to the end of its last day.
func waiverState(expires string, now time.Time) string {
	day, err := time.Parse(time.DateOnly, expires)
	if err != nil || now.After(day.AddDate(0, 0, 1)) {
		return "expired"
	}
	return "active"
}

// ruleOf is the rule of a finding's key.
func ruleOf(key string) string {
	rule, _, _ := strings.Cut(key, " ")
	return rule
}
