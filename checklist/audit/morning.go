package audit

import (
	"cmp"
	"slices"
	"time"
)

// Morning is what a lead sees to before the day begins, beside the cars that
// are in the shop.
type Morning struct {
	Rechecks []Due      `json:"rechecks"` // due by today or overdue, the latest first
	Waivers  []Due      `json:"waivers"`  // that end within two weeks, or ended in the last
	Releases []Released `json:"releases"` // signed off today
	Lots     []HeldLot  `json:"lots"`     // on hold, the latest first
	Carriers []Carrier  `json:"carriers"` // cars that carry one of them, those whose owner was not told first
}

// Due is something of a car with a date.
type Due struct {
	Car   string `json:"car"`
	Plate string `json:"plate"`
	What  string `json:"what"`
	Date  string `json:"date"`
	Days  int    `json:"days"` // past the date; negative while there is time
	Entry string `json:"entry"`
}

// Released is a sign-off.
type Released struct {
	Car   string `json:"car"`
	Plate string `json:"plate"`
	By    string `json:"by"`
	At    string `json:"at"`
	Entry string `json:"entry"`
}

// HeldLot is a part record that is kept off cars.
type HeldLot struct {
	Part  string `json:"part"`
	Name  string `json:"name"`
	Lot   string `json:"lot"`
	Since string `json:"since"`
	Why   string `json:"why"`
	Entry string `json:"entry"`
}

// Carrier is a car that carries a part of a lot on hold, and when its owner was
// told: empty while nobody was.
type Carrier struct {
	Car      string `json:"car"`
	Plate    string `json:"plate"`
	Position string `json:"position"`
	Part     string `json:"part"`
	Told     string `json:"told"`
	Entry    string `json:"entry"`
}

// waiverNotice is how many days before its end a waiver is listed, and for how
// many after it.
const waiverNotice = 14

// ThisMorning gathers it as it stands at a moment.
func ThisMorning(src Source, now time.Time) (Morning, error) {
	a := &asking{Source: src, now: now.UTC(), args: map[string]string{}}
	m := Morning{Rechecks: []Due{}, Waivers: []Due{}, Releases: []Released{}, Lots: []HeldLot{}, Carriers: []Carrier{}}
	for _, part := range []func(*asking) error{m.rechecks, m.waivers, m.releases, m.lots, m.carriers} {
		if err := part(a); err != nil {
			return m, err
		}
	}
	return m, nil
}

func (m *Morning) rechecks(a *asking) error {
	answer, err := mustFind("rechecks").Ask(a.Source, []string{"0"}, a.now)
	for _, r := range answer.Rows {
		what := r.Cells[2].(string)
		if km, known := r.Cells[5].(float64); known && km > recheckFlagKm {
			what += ", driven " + cellText(km) + " km"
		}
		m.Rechecks = append(m.Rechecks, Due{r.Cells[0].(string), r.Cells[1].(string), what, r.Cells[3].(string), r.Cells[4].(int), r.Entries[0]})
	}
	slices.SortStableFunc(m.Rechecks, func(x, y Due) int { return cmp.Compare(y.Days, x.Days) })
	return err
}

func (m *Morning) waivers(a *asking) error {
	err := each(a, tableWaivers, "", func(record string, rows []waiverFact) error {
		for _, w := range rows {
			end, err := time.Parse(time.DateOnly, w.Expires)
			days := daysBetween(end, a.now)
			if err != nil || days < -waiverNotice || days > waiverNotice {
				continue
			}
			c, err := a.car(record)
			if err != nil {
				return err
			}
			m.Waivers = append(m.Waivers, Due{c.Name, c.Plate, w.Finding, w.Expires, days, w.Entry})
		}
		return nil
	})
	slices.SortStableFunc(m.Waivers, func(x, y Due) int { return cmp.Compare(x.Date, y.Date) })
	return err
}

func (m *Morning) releases(a *asking) error {
	return each(a, tableVisits, "", func(record string, rows []visitFact) error {
		for _, v := range rows {
			if v.Release == nil || v.Release.day() != date(a.now) {
				continue
			}
			c, err := a.car(record)
			if err != nil {
				return err
			}
			m.Releases = append(m.Releases, Released{c.Name, c.Plate, v.Release.By, minute(v.Release.at()), v.Release.Entry})
		}
		return nil
	})
}

func (m *Morning) lots(a *asking) error {
	err := each(a, tableParts, `"h":{`, func(id string, rows []partFact) error {
		if p := rows[0]; p.OnHold != nil {
			m.Lots = append(m.Lots, HeldLot{id, p.Name, p.Lot, p.OnHold.day(), p.WhyHeld, p.OnHold.Entry})
		}
		return nil
	})
	slices.SortStableFunc(m.Lots, func(x, y HeldLot) int { return cmp.Compare(y.Since, x.Since) })
	return err
}

func (m *Morning) carriers(a *asking) error {
	if len(m.Lots) == 0 {
		return nil
	}
	parts, err := a.parts()
	if err != nil {
		return err
	}
	err = each(a, tableFits, "", func(record string, rows []fitFact) error {
		for _, f := range rows {
			p := parts[f.Part]
			if f.Out != nil || p.OnHold == nil {
				continue
			}
			c, err := a.car(record)
			if err != nil {
				return err
			}
			m.Carriers = append(m.Carriers, Carrier{c.Name, c.Plate, f.Position, f.Part, p.Told[record].day(), f.In.Entry})
		}
		return nil
	})
	slices.SortStableFunc(m.Carriers, func(x, y Carrier) int {
		return cmp.Or(cmp.Compare(x.Told, y.Told), cmp.Compare(x.Car, y.Car))
	})
	return err
}

// mustFind is a question that is there.
func mustFind(name string) Question {
	q, _ := Find(name)
	return q
}
