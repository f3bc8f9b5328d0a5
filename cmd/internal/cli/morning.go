package cli

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"time"

	"feedproof/checklist"
	"feedproof/checklist/audit"
	"feedproof/schema"

	"github.com/spf13/cobra"
)

func (a *app) boardCommand() *cobra.Command {
	return &cobra.Command{
		Use: "board [CAR]", Short: "the lead's board; of one car: large, for the bay", Args: cobra.MaximumNArgs(1),
		Long: `Without a car: the cars in the shop, open STOPs and HOLDs by age, re-checks,
instruments, waivers, today's releases and lots on hold, as feedproof alone
shows them. Of one car: the state of the fuel in large letters, to be read from
two metres, and the one next thing.`,
		RunE: func(_ *cobra.Command, args []string) error {
			if len(args) == 0 && a.flags.json {
				return a.morningJSON()
			}
			if len(args) == 0 {
				return a.board()
			}
			s, err := a.open()
			if err != nil {
				return err
			}
			return s.carBoard(args[0])
		},
	}
}

// standings are the cars in the shop as they stand.
type standings struct {
	lines []standing
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

func (s *session) standings() (standings, error) {
	all := standings{lines: []standing{}, open: []openFinding{}}
	cars, err := s.present()
	if err != nil {
		return all, err
	}
	facts, err := s.shop.Facts()
	if err != nil {
		return all, err
	}
	told := told(s.Progress("judging car"))
	for i, v := range cars {
		as := checklist.Assess(v.whole(), facts, s.Now())
		told(i+1, len(cars))
		if as.Car.Visit == nil || as.Car.Visit.Closed {
			continue
		}
		all.lines = append(all.lines, stands(v, as))
		all.open = append(all.open, s.openFindings(v, as)...)
	}
	slices.SortStableFunc(all.open, func(a, b openFinding) int {
		return cmp.Or(cmp.Compare(b.Severity, a.Severity), cmp.Compare(b.Days, a.Days))
	})
	return all, nil
}

// openFindings are those that rest on something that was recorded: what is
// merely not recorded yet is no trouble in the morning.
func (s *session) openFindings(v vehicle, as checklist.Assessment) []openFinding {
	var out []openFinding
	whole := v.whole()
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
		o.Days = int(s.Now().Sub(since).Hours() / 24)
		out = append(out, o)
	}
	return out
}

// morningBoard is the lead's board as --json prints it.
type morningBoard struct {
	At    string        `json:"at"`
	Cars  []standing    `json:"cars"`
	Open  []openFinding `json:"open"`
	Tools []toolDue     `json:"instruments"`
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

func (s *session) morning(cars standings) (morningBoard, error) {
	m := morningBoard{At: s.Now().UTC().Format(time.RFC3339), Cars: cars.lines, Open: cars.open, Tools: []toolDue{}}
	src, err := s.source()
	if err != nil {
		return m, err
	}
	if m.Morning, err = audit.ThisMorning(src, s.Now()); err != nil {
		return m, err
	}
	tools, err := s.gauges()
	if err != nil {
		return m, err
	}
	for _, g := range tools {
		if state := g.needs(s.Now()); state != "" {
			m.Tools = append(m.Tools, toolDue{g.ID, g.Data.Name, state})
		}
	}
	return m, nil
}

// needs says what an instrument needs today: a calibration within 30 days, or
// a bump test of a gas meter.
func (g instrument) needs(now time.Time) string {
	var said []string
	due, err := time.Parse(time.DateOnly, g.Snapshot.Due)
	if err != nil || due.Before(now.Add(toolNotice)) {
		said = append(said, strings.Replace(g.state(now), "none", "no calibration", 1))
	}
	if g.Data.Measures == schema.MeasuresGas {
		bumped, err := time.Parse(time.RFC3339, g.Snapshot.Bumped)
		if err != nil || bumped.UTC().Format(time.DateOnly) != now.UTC().Format(time.DateOnly) {
			said = append(said, "no bump test today")
		}
	}
	return strings.Join(said, ", ")
}

func (a *app) morningJSON() error {
	s, err := a.open()
	if err != nil {
		return err
	}
	cars, err := s.standings()
	if err != nil {
		return err
	}
	m, err := s.morning(cars)
	if err != nil {
		return err
	}
	return s.JSON(m)
}

// mostShown bounds a list on the board; the question behind it has them all.
const mostShown = 8

func (s *session) showMorning(m morningBoard) {
	var open, rechecks, tools, waivers, releases, lots [][]string
	for _, o := range m.Open {
		open = append(open, []string{s.Short(o.Severity), o.Car, plural(o.Days, "day"), o.Finding.Name() + ": " + o.Finding.Measured})
	}
	for _, r := range m.Rechecks {
		rechecks = append(rechecks, []string{describe([]string{r.Car, r.Plate}), r.Date, lateness(r.Days), r.What})
	}
	for _, t := range m.Tools {
		tools = append(tools, []string{t.Gauge, t.Name, t.State})
	}
	for _, w := range m.Waivers {
		waivers = append(waivers, []string{describe([]string{w.Car, w.Plate}), w.Date, lateness(w.Days), w.What})
	}
	for _, r := range m.Releases {
		releases = append(releases, []string{describe([]string{r.Car, r.Plate}), r.By})
	}
	for _, l := range m.Lots {
		lots = append(lots, []string{l.Part, l.Since, joinNonEmpty(l.Name, l.Lot, l.Why)})
	}
	s.few("open", "feedproof check CAR", []string{"", "CAR", "FOR", "WHAT"}, open)
	s.few("re-checks", "feedproof ask rechecks", []string{"CAR", "DUE", "", "WHAT"}, rechecks)
	s.few("instruments", "feedproof gauge list", []string{"GAUGE", "NAME", "NEEDS"}, tools)
	s.few("waivers", "feedproof ask waivers", []string{"CAR", "ENDS", "", "FINDING"}, waivers)
	s.few("signed off today", "feedproof board | more", []string{"CAR", "BY"}, releases)
	s.few("lots on hold", "feedproof part list", []string{"PART", "SINCE", "WHY"}, lots)
}

// few shows the first rows of a section, and where the rest is; in a pipe all.
func (s *session) few(title, rest string, header []string, rows [][]string) {
	if left := len(rows) - mostShown; left > 0 && s.Terminal() {
		s.section(fmt.Sprintf("%s (%d)", title, len(rows)), header, rows[:mostShown])
		s.Say("%d more: %s", left, rest)
		return
	}
	s.section(title, header, rows)
}

func lateness(days int) string {
	switch {
	case days > 0:
		return plural(days, "day") + " late"
	case days == 0:
		return "today"
	}
	return "in " + plural(-days, "day")
}

// carBoard is one car to be read from two metres: the state of the fuel in
// large letters, then who and where, and the one next thing.
func (s *session) carBoard(name string) error {
	v, err := s.car(name)
	if err != nil {
		return err
	}
	as, err := s.assess(v)
	if err != nil {
		return err
	}
	st := stands(v, as)
	if s.flags.json {
		return s.JSON(st)
	}
	if !s.Terminal() {
		s.Table(nil, [][]string{st.row()})
		return nil
	}
	d := s.shop.Device()
	place := "bay " + orDash(st.Bay)
	if st.Left {
		place = "NOT IN THE SHOP"
	}
	s.Head("%s · %s · %s · %s", strings.ToUpper(describe([]string{v.Data.Name, v.Data.Plate, tail(v.Data.VIN)})), place, orDash(d.Who), s.Now().Format("Mon "+time.DateOnly+" 15:04"))
	s.Say("%s", v.Data.Description)
	rows := large("FUEL "+st.Fuel, s.Columns())
	if st.Held {
		rows = append(rows, large("HELD", s.Columns())...)
	}
	for _, l := range rows {
		if l == "" {
			s.Say("")
			continue
		}
		s.Head("%s", l)
	}
	s.Say("")
	s.Head("NEXT POINT %s   RED %d   AMBER %d   DRAFT %d", orDash(st.Point), st.Red, st.Amber, st.Draft)
	s.Say("")
	s.Head("%s", st.Next)
	return nil
}
