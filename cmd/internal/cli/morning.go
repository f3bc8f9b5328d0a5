package cli

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"time"

	"feedproof/checklist"
	"feedproof/checklist/audit"
	"feedproof/checklist/state"
	"feedproof/cmd/internal/desk"
	"feedproof/cmd/internal/terminal"
	"feedproof/schema"
)

// standings are the cars in the shop as they stand.
type standings struct {
	lines []desk.Standing
	open  []openFinding
}

// openFinding is a STOP or HOLD of a car in the shop that nobody has ended.
type openFinding struct {
	Car      string          `json:"car"`
	Severity schema.Severity `json:"severity"`
	Finding  schema.Finding  `json:"finding"`
	Days     int             `json:"days"`
	Entry    string          `json:"entry"` // the last that it rests on: since then it stands
}

func standingsOf(d *desk.Desk, out *terminal.Screen) (standings, error) {
	all := standings{lines: []desk.Standing{}, open: []openFinding{}}
	cars, err := d.Present()
	if err != nil {
		return all, err
	}
	facts, err := d.Facts()
	if err != nil {
		return all, err
	}
	told := told(out.Progress("judging car"))
	for i, v := range cars {
		as := checklist.Assess(v.Whole(), facts, d.Now())
		told(i+1, len(cars))
		if as.Car.Visit == nil || as.Car.Visit.Closed {
			continue
		}
		all.lines = append(all.lines, desk.Stands(v, as))
		all.open = append(all.open, openFindings(d.Now(), v, as)...)
	}
	slices.SortStableFunc(all.open, func(a, b openFinding) int {
		return cmp.Or(cmp.Compare(b.Severity, a.Severity), cmp.Compare(b.Days, a.Days))
	})
	return all, nil
}

// openFindings are those that rest on something that was recorded: what is
// merely not recorded yet is no trouble in the morning.
func openFindings(now time.Time, v desk.Car, as checklist.Assessment) []openFinding {
	var out []openFinding
	whole := v.Whole()
	for _, f := range as.Findings {
		if !f.Open() || len(f.Entries) == 0 {
			continue
		}
		o := openFinding{Car: v.Data.Name, Severity: f.Severity, Finding: f}
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

// morningBoard is the lead's board as --json prints it.
type morningBoard struct {
	At    string          `json:"at"`
	Cars  []desk.Standing `json:"cars"`
	Open  []openFinding   `json:"open"`
	Tools []toolDue       `json:"instruments"`
	audit.Morning
}

// toolDue is an instrument that needs something.
type toolDue struct {
	Gauge string `json:"gauge"`
	Name  string `json:"name"`
	State string `json:"state"`
}

// toolNotice is how long before its due date an instrument is listed.
const toolNotice = 30 * 24 * time.Hour

func morningOf(d *desk.Desk, cars standings) (morningBoard, error) {
	m := morningBoard{At: d.Now().UTC().Format(time.RFC3339), Cars: cars.lines, Open: cars.open, Tools: []toolDue{}}
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
			m.Tools = append(m.Tools, toolDue{g.ID, g.Data.Name, state})
		}
	}
	return m, nil
}

// needs says what an instrument needs today: a calibration within 30 days, or
// a bump test of a gas meter.
func needs(g desk.Instrument, now time.Time) string {
	var said []string
	due, err := time.Parse(time.DateOnly, g.Snapshot.Due)
	if err != nil || due.Before(now.Add(toolNotice)) {
		said = append(said, strings.Replace(g.State(now), "none", "no calibration", 1))
	}
	if g.Data.Measures == schema.MeasuresGas && !state.Bumped(g.Snapshot, now) {
		said = append(said, "no bump test today")
	}
	return strings.Join(said, ", ")
}

// mostShown bounds a list on the board; the question behind it has them all.
const mostShown = 8

func showMorning(out *terminal.Screen, m morningBoard) {
	var open, rechecks, tools, waivers, releases, lots [][]string
	for _, o := range m.Open {
		open = append(open, []string{out.Short(o.Severity), o.Car, desk.Plural(o.Days, "day"), o.Finding.Name() + ": " + o.Finding.Measured})
	}
	for _, r := range m.Rechecks {
		rechecks = append(rechecks, []string{desk.Describe([]string{r.Car, r.Plate}), r.Date, lateness(r.Days), r.What})
	}
	for _, t := range m.Tools {
		tools = append(tools, []string{t.Gauge, t.Name, t.State})
	}
	for _, w := range m.Waivers {
		waivers = append(waivers, []string{desk.Describe([]string{w.Car, w.Plate}), w.Date, lateness(w.Days), w.What})
	}
	for _, r := range m.Releases {
		releases = append(releases, []string{desk.Describe([]string{r.Car, r.Plate}), r.By})
	}
	for _, l := range m.Lots {
		lots = append(lots, []string{l.Part, l.Since, desk.Joined(l.Name, l.Lot, l.Why)})
	}
	few(out, "open", "feedproof check CAR", []string{"", "CAR", "FOR", "WHAT"}, open)
	few(out, "re-checks", "feedproof ask rechecks", []string{"CAR", "DUE", "", "WHAT"}, rechecks)
	few(out, "instruments", "feedproof gauge list", []string{"GAUGE", "NAME", "NEEDS"}, tools)
	few(out, "waivers", "feedproof ask waivers", []string{"CAR", "ENDS", "", "FINDING"}, waivers)
	few(out, "signed off today", "feedproof board | more", []string{"CAR", "BY"}, releases)
	few(out, "lots on hold", "feedproof part list", []string{"PART", "SINCE", "WHY"}, lots)
}

// few shows the first rows of a section, and where the rest is; in a pipe all.
func few(out *terminal.Screen, title, rest string, header []string, rows [][]string) {
	if left := len(rows) - mostShown; left > 0 && out.Terminal() {
		section(out, fmt.Sprintf("%s (%d)", title, len(rows)), header, rows[:mostShown])
		out.Say("%d more: %s", left, rest)
		return
	}
	section(out, title, header, rows)
}

func lateness(days int) string {
	switch {
	case days > 0:
		return desk.Plural(days, "day") + " late"
	case days == 0:
		return "today"
	}
	return "in " + desk.Plural(-days, "day")
}
