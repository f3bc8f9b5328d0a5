package audit

import (
	"slices"
)

var _ = register(Question{
	ID: "Q07", Name: "own-work", Title: "Which cars were signed off by somebody who worked on them?",
	How:   "The last sign-off of each visit is put beside everybody who wrote a step, a fitting, a removal or a reading in that visit before it.",
	Needs: "A person who is named as the second one alone did not do the work. Work that nobody wrote down does not show.",
}, askOwnWork)

func askOwnWork(a *asking) error {
	a.carColumns("visit: number", "signed: date", "by: who", "workers: everybody who did the work")
	err := each(a, tableVisits, "", func(record string, rows []visitFact) error {
		for _, v := range rows {
			if v.Release == nil || !slices.Contains(v.Workers, v.Release.By) {
				continue
			}
			if err := a.row(record, []string{v.Release.Entry}, v.No, v.Release.day(), v.Release.By, joinWords(v.Workers)); err != nil {
				return err
			}
		}
		return nil
	})
	a.sortRows(3, 0)
	return err
}
