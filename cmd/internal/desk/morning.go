package desk

import (
	"cmp"
	"slices"
	"strings"
	"time"

	"feedproof/checklist"
	"feedproof/checklist/audit"
	"feedproof/schema"
)

// Standings are the cars in the shop as they stand, and their open STOPs and
// HOLDs, the heaviest and oldest first.
type Standings struct {
	Cars []Standing
	Open []OpenFinding
}

// OpenFinding is a STOP or HOLD of a car in the shop that nobody has ended.
type OpenFinding struct {
	Car      string          `json:"car"`
	Severity schema.Severity `json:"severity"`
	Finding  schema.Finding  `json:"finding"`
	Days     int             `json:"days"`
	Entry    string          `json:"entry"` // the last that it rests on: since then it stands
}

// Standings judges the cars whose visit is open.
func (d *Desk) Standings() (Standings, error) {
	all := Standings{Cars: []Standing{}, Open: []OpenFinding{}}
	cars, err := d.Present()
	if err != nil {
		return all, err
	}
	judged := d.progress("judging car")
	for i, c := range cars {
		a, err := d.AssessAlone(c)
		if err != nil {
			return all, err
		}
		judged(i+1, len(cars))
		if a.Car.Visit == nil || a.Car.Visit.Closed {
			continue
		}
		all.Cars = append(all.Cars, Stands(c, a))
		all.Open = append(all.Open, openFindings(d.Now(), c, a)...)
	}
	slices.SortStableFunc(all.Open, func(a, b OpenFinding) int {
		return cmp.Or(cmp.Compare(b.Severity, a.Severity), cmp.Compare(b.Days, a.Days))
	})
	return all, nil
}

// openFindings are those that rest on something that was recorded: what is
// merely not recorded yet is no trouble in the morning.
func openFindings(now time.Time, c Car, a checklist.Assessment) []OpenFinding {
	var out []OpenFinding
	whole := c.Whole()
	for _, f := range a.Findings {
		if !f.Open() || len(f.Entries) == 0 {
			continue
		}
		o := OpenFinding{Car: c.Data.Name, Severity: f.Severity, Finding: f}
		var since time.Time
		for _, id := range f.Entries {
			if e, ok := whole.Entry(id); ok && e.At.After(since) {
				since, o.Entry = e.At, id
			}
		}
		o.Days = int(now.Sub(since).Hours() / 24)
		out = append(out, o)
	}
	return out
}

// Morning is the lead's board: the cars, and what else a lead sees to.
type Morning struct {
	At    string        `json:"at"`
	Cars  []Standing    `json:"cars"`
	Open  []OpenFinding `json:"open"`
	Tools []ToolDue     `json:"instruments"`
	audit.Morning
}

// ToolDue is an instrument that needs something.
type ToolDue struct {
	Gauge string `json:"gauge"`
	Name  string `json:"name"`
	State string `json:"state"`
}

// toolNotice is how long before its due date an instrument is listed.
const toolNotice = 30 * 24 * time.Hour

// Morning is the board of this moment, over the cars as they stand.
func (d *Desk) Morning(cars Standings) (Morning, error) {
	m := Morning{At: d.Now().UTC().Format(time.RFC3339), Cars: cars.Cars, Open: cars.Open, Tools: []ToolDue{}}
	src, err := d.Source()
	if err != nil {
		return m, err
	}
	if m.Morning, err = audit.ThisMorning(src, d.Now()); err != nil {
		return m, err
	}
	tools, err := d.Gauges()
	if err != nil {
		return m, err
	}
	for _, g := range tools {
		if state := needs(g, d.Now()); state != "" {
			m.Tools = append(m.Tools, ToolDue{g.ID, g.Data.Name, state})
		}
	}
	return m, nil
}

// needs says what an instrument needs today: a calibration within 30 days, or
// a bump test of a gas meter.
func needs(g Instrument, now time.Time) string {
	var said []string
	due, err := time.Parse(time.DateOnly, g.Snapshot.Due)
	if err != nil || due.Before(now.Add(toolNotice)) {
		said = append(said, strings.Replace(g.State(now), "none", "no calibration", 1))
	}
	if g.Data.Measures == schema.MeasuresGas {
		bumped, err := time.Parse(time.RFC3339, g.Snapshot.Bumped)
		if err != nil || bumped.UTC().Format(time.DateOnly) != now.UTC().Format(time.DateOnly) {
			said = append(said, "no bump test today")
		}
	}
	return strings.Join(said, ", ")
}
