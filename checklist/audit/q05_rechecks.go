package audit

import (
	"fmt"
	"time"
)

const (
	recheckNotice = 14  // days before it is due that a re-check is listed
	ethanolDays   = 183 // days after which the blend may be that of another season
	recheckFlagKm = 160 // 100 miles
)

var _ = register(Question{
	ID: "Q05", Name: "rechecks", Title: "Which cars are due or overdue for their re-check, and for the season's ethanol check?",
	Args: []Arg{{Name: "DAYS", What: fmt.Sprintf("list what is due within so many days; %d without it", recheckNotice), Kind: Number, Optional: true}},
	How: "The last sign-off of each car names the date the car is due back. It is done when HP11 was closed after it. " +
		"It is overdue after that date, or when the car came back with more than 160 km (100 mi) on it; distance is known when the odometer was read at both. " +
		"A car whose last plan allows more than 10 % ethanol, or does not know, is due for an ethanol reading 183 days after the last one (shop policy: the blend changes with the season).",
	Needs: "A car that is still in the shop is listed too: it must not leave without. One whose care ended (`feedproof vehicle close`) is not listed.",
}, askRechecks)

func askRechecks(a *asking) error {
	a.carColumns("what: re-check or ethanol", "due: date", "days_late: negative while there is time", "driven_km: since the release, when known", "visit: of the release")
	notice, err := a.number("DAYS", recheckNotice)
	if err != nil {
		return err
	}
	err = each(a, tableVisits, "", func(record string, rows []visitFact) error {
		return a.recheckRow(record, rows, notice)
	})
	if err != nil {
		return err
	}
	err = each(a, tableCars, `"f":true`, func(record string, rows []carFact) error {
		f := rows[0]
		if f.Ethanol == nil || f.Ended != nil {
			return nil
		}
		due := f.Ethanol.at().AddDate(0, 0, ethanolDays)
		if late := daysBetween(due, a.now); late >= -int(notice) {
			return a.row(record, []string{f.Ethanol.Entry}, "ethanol reading", date(due), late, "", "")
		}
		return nil
	})
	a.sortRows(3, 0)
	return err
}

func (a *asking) recheckRow(record string, rows []visitFact, notice float64) error {
	last := -1
	for i, v := range rows {
		if v.Release != nil {
			last = i
		}
	}
	if last < 0 || rows[last].Recheck != nil {
		return nil
	}
	v := rows[last]
	due, err := time.Parse(time.DateOnly, v.Due)
	if err != nil {
		return nil
	}
	late, driven := daysBetween(due, a.now), any("")
	tooFar := false
	if km, known := drivenSince(rows, last); known {
		driven, tooFar = km, km > recheckFlagKm
	}
	if late < -int(notice) && !tooFar {
		return nil
	}
	if c, err := a.car(record); err != nil || c.Ended != nil {
		return err
	}
	return a.row(record, []string{v.Release.Entry}, "re-check", v.Due, late, driven, v.No)
}

// drivenSince is the distance from a visit's end to the next one's begin, km.
func drivenSince(rows []visitFact, i int) (float64, bool) {
	if i+1 >= len(rows) || rows[i+1].In == nil {
		return 0, false
	}
	from := rows[i].Out
	if from == nil {
		from = rows[i].In
	}
	if from == nil {
		return 0, false
	}
	return *rows[i+1].In - *from, true
}

// daysBetween counts whole days; negative when to is earlier.
func daysBetween(from, to time.Time) int {
	day := func(t time.Time) time.Time { return t.UTC().Truncate(24 * time.Hour) }
	return int(day(to).Sub(day(from)).Hours() / 24)
}
