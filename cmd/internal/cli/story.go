package cli

import (
	"errors"
	"fmt"
	"regexp"
	"time"

	"feedproof/checklist/audit"
	"feedproof/checklist/past"
	"feedproof/checklist/state"
	"feedproof/cmd/internal/desk"
	"feedproof/cmd/internal/facts"
	"feedproof/cmd/internal/facts/chart"
	"feedproof/cmd/internal/terminal"
	"feedproof/records"
	"feedproof/schema"
)

// storyJSON is a car through the years as --json prints it.
type storyJSON struct {
	Vehicle string `json:"vehicle"`
	ID      string `json:"id"`
	past.Story
	Facts []factJSON `json:"facts"`
}

// story shows a car through the years. Every fact follows in JSON, in a pipe,
// and when it is asked for.
func (s *session) story(v desk.Car, facts bool) error {
	story := past.Tell(state.Fold(v.Whole(), schema.Shop{}, s.Now()))
	if s.flags.json {
		return s.JSON(storyJSON{v.Data.Name, v.ID, story, factsOn(v)})
	}
	if len(v.Whole().Entries) == 0 { // it was not known yet, which has been said
		return nil
	}
	if s.Terminal() {
		s.Head("%s · %s", desk.Describe([]string{v.Data.Name, v.Data.Plate, tail(v.Data.VIN)}), v.Data.Description)
	}
	section(s.Screen, "visits", []string{"VISIT", "JOBS", "OPENED", "CLOSED", "ODOMETER", "RELEASED", "REASON"}, s.visitRows(story))
	section(s.Screen, "fitted", []string{"POSITION", "SINCE", "AT", "PART"}, s.componentRows(story, true))
	section(s.Screen, "was fitted", []string{"POSITION", "FROM", "TO", "PART", "WHY"}, s.componentRows(story, false))
	section(s.Screen, "envelopes", []string{"WHEN", "HOW", "BY", "LIMITS"}, s.envelopeRows(story))
	section(s.Screen, "findings as shown", []string{"WHEN", "SHOWN", "SEVERITY", "WHAT"}, s.findingRows(story))
	section(s.Screen, "waivers", []string{"WHEN", "BY", "EXPIRES", "WHAT"}, s.waiverRows(story))
	section(s.Screen, "sign-offs", []string{"WHEN", "VISIT", "BY", "SEEN", "RULES", "RE-CHECK"}, s.signOffRows(story))
	section(s.Screen, "incidents", []string{"WHEN", "BY", "SEVERITY", "WHAT"}, s.incidentRows(story))
	section(s.Screen, "care ended", []string{"WHEN", "BY", "RECORD KEPT UNTIL", "WHY"}, careRows(story))
	if !facts && s.Terminal() {
		s.Say("")
		s.Say("Every fact: feedproof history %s --facts", desk.Quoted(v.Data.Name))
		return nil
	}
	var rows [][]string
	for _, l := range factsOn(v) {
		rows = append(rows, s.factRow(l))
	}
	s.Table([]string{"#", "WHEN", "WHO", "WHAT"}, rows)
	return nil
}

// section is a table with its heading; in a pipe each row begins with it.
// Without rows there is none.
func section(out *terminal.Screen, title string, header []string, rows [][]string) {
	if len(rows) == 0 {
		return
	}
	if out.Terminal() {
		out.Say("")
		out.Head("%s", title)
		out.Table(header, rows)
		return
	}
	for _, r := range rows {
		out.Table(nil, [][]string{append([]string{title}, r...)})
	}
}

func careRows(story past.Story) [][]string {
	care := story.CareEnded
	if care == nil {
		return nil
	}
	return [][]string{{dayOf(care.When), care.By, care.Until, care.Why}}
}

func (s *session) visitRows(story past.Story) [][]string {
	var rows [][]string
	for _, v := range story.Visits {
		odometer := v.In
		if v.Out != "" {
			odometer += " to " + v.Out
		}
		rows = append(rows, []string{v.Visit, v.Jobs, dayOf(v.Opened), dayOf(v.Closed), odometer, yesNo(v.Released), v.Reason})
	}
	return rows
}

func dayOf(t time.Time) string {
	if t.IsZero() {
		return "-"
	}
	return t.UTC().Format(time.DateOnly)
}

func yesNo(yes bool) string {
	if yes {
		return "yes"
	}
	return "no"
}

func (s *session) componentRows(story past.Story, now bool) [][]string {
	var rows [][]string
	for _, k := range story.Components {
		switch {
		case k.Now != now:
		case now:
			rows = append(rows, []string{k.Position, dayOf(k.Fitted), k.At, k.Part})
		default:
			rows = append(rows, []string{k.Position, desk.Joined(dayOf(k.Fitted), k.At), desk.Joined(dayOf(k.Removed), k.Until), k.Part, k.Why})
		}
	}
	return rows
}

func (s *session) envelopeRows(story past.Story) [][]string {
	var rows [][]string
	last := ""
	for _, e := range story.Envelopes {
		limits := facts.Envelope(e.Envelope)
		if limits == last {
			limits = "the same"
		} else {
			last = limits
		}
		rows = append(rows, []string{dayOf(e.When), e.How, e.By, limits})
	}
	return rows
}

func (s *session) findingRows(story past.Story) [][]string {
	var rows [][]string
	for _, f := range story.Findings {
		what := fmt.Sprintf("%s %s: %s (limit %s)", f.Finding.Rule, f.Finding.About, f.Finding.Measured, f.Finding.Limit)
		if f.Finding.Answered != "" {
			what += ", answered"
		}
		rows = append(rows, []string{dayOf(f.When), f.Shown, f.Finding.Severity.String(), what})
	}
	return rows
}

func (s *session) waiverRows(story past.Story) [][]string {
	var rows [][]string
	for _, w := range story.Waivers {
		rows = append(rows, []string{dayOf(w.When), w.By, w.Expires, fmt.Sprintf("%s: %s; instead: %s", w.Finding, w.Why, w.Measure)})
	}
	return rows
}

func (s *session) signOffRows(story past.Story) [][]string {
	var rows [][]string
	for _, o := range story.SignOffs {
		recheck := "not done, due " + o.Recheck
		switch {
		case o.DoneOn > o.Recheck:
			recheck = "done " + o.DoneOn + ", late"
		case o.Done:
			recheck = "done " + o.DoneOn
		}
		rows = append(rows, []string{dayOf(o.When), o.Visit, o.By, desk.Plural(o.Entries, "entry"), o.RuleSet, recheck})
	}
	return rows
}

func (s *session) incidentRows(story past.Story) [][]string {
	var rows [][]string
	for _, i := range story.Incidents {
		rows = append(rows, []string{dayOf(i.When), i.By, i.Severity, desk.Joined(i.What, "injury: "+string(i.Injury), i.Action)})
	}
	return rows
}

var commitName = regexp.MustCompile(`^[0-9a-f]{7,40}$`)

// asKnown is a car as it was known at a time, at the end of a day, at its
// release, or as a commit held it. It says which, and by what that was
// decided. What was not known then is no draft.
func (s *session) asKnown(v desk.Car, at string) (desk.Car, error) {
	whole := v.Whole()
	v.Draft = nil
	if commitName.MatchString(at) {
		return s.asCommitted(v, at)
	}
	known, said, err := audit.KnownAt(whole, s.stamped(at))
	if err != nil {
		return v, wrong(`--at "2026-03-02 14:00", --at 2026-03-02T14:00:00Z, --at 2026-03-02, --at COMMIT or --at release`, "--at: %v", err)
	}
	s.Warn("%s: %s.", v.Data.Name, said)
	v.Record = known
	if len(known.Entries) > 0 {
		v.Data = desk.Identity(known)
	}
	return v, nil
}

// stamped is a time in RFC 3339; what is no time stays as it was typed.
func (s *session) stamped(typed string) string {
	t, err := moment(s.Now(), typed)
	if err != nil || typed == "" {
		return typed
	}
	return t.Format(time.RFC3339)
}

func (s *session) asCommitted(v desk.Car, commit string) (desk.Car, error) {
	view, full, err := s.Store().ViewAt(commit)
	if err != nil {
		return v, wrong("feedproof history "+desk.Quoted(v.Data.Name)+" --commits lists them", "--at: %v", err)
	}
	known, err := view.Record(schema.VehicleRecord, v.ID)
	if missing := (*records.NotFoundError)(nil); errors.As(err, &missing) {
		return v, wrong("feedproof history "+desk.Quoted(v.Data.Name)+" --commits lists them", "--at: commit %.12s does not hold %s yet", full, v.Data.Name)
	}
	if err != nil {
		return v, err
	}
	s.Warn("%s: %d of %d committed entries: those that commit %.12s held.", v.Data.Name, len(known.Entries), len(v.Record.Entries), full)
	v.Record, v.Data = known, desk.Identity(known)
	return v, nil
}

// sinceLast shows what changed between the last two visits.
func (s *session) sinceLast(v desk.Car) error {
	since, ok := past.SinceLast(state.Fold(v.Whole(), schema.Shop{}, s.Now()))
	if !ok {
		return failed("feedproof history "+desk.Quoted(v.Data.Name), "%s: has had fewer than two visits", v.Data.Name)
	}
	if s.flags.json {
		return s.JSON(since)
	}
	s.Head("%s: visit %s beside visit %s, %s", v.Data.Name, since.After, since.Before, desk.Joined(desk.Plural(since.Days, "day")+" apart", prefix("driven ", since.Driven)))
	var again, changes, readings [][]string
	for _, g := range since.Again {
		again = append(again, []string{g.What, g.Why})
	}
	for _, c := range since.Changes {
		changes = append(changes, []string{c.What, orDash(c.Before), orDash(c.After)})
	}
	for _, r := range since.Readings {
		readings = append(readings, []string{r.What, r.Before, r.After, orDash(r.Tolerance), readingWord(r)})
	}
	section(s.Screen, "look at again", []string{"WHAT", "WHY"}, again)
	section(s.Screen, "changed", []string{"WHAT", "THEN", "NOW"}, changes)
	section(s.Screen, "measured", []string{"WHAT", "THEN", "NOW", "WITHIN", "SO"}, readings)
	return nil
}

func prefix(word, text string) string {
	if text == "" {
		return ""
	}
	return word + text
}

func readingWord(r past.Reading) string {
	switch {
	case r.Unlike != "":
		return "not compared: " + r.Unlike
	case r.Alarm != "":
		return r.Change + ", ALARM"
	case r.Beyond:
		return r.Change + ", BEYOND"
	}
	return r.Change
}

// seriesJSON is one quantity through the years.
type seriesJSON struct {
	Name   string           `json:"name"`
	Unit   string           `json:"unit"`
	Points []map[string]any `json:"points"`
	Trend  *past.Trend      `json:"trend,omitempty"`
}

// series shows one quantity through the years with its gauges and trend.
func (s *session) series(v desk.Car, name string) error {
	test, value, ok := audit.QuantityOf(name)
	if !ok {
		return wrong(`--reading "base rail"; feedproof explain base lists the values of base`, "--reading: %q is not a test and one of its values", name)
	}
	series, err := past.Read(state.Fold(v.Whole(), schema.Shop{}, s.Now()), test, value)
	if err != nil {
		return wrong("feedproof explain "+desk.Quoted(test), "--reading: %v", err)
	}
	trend, has := series.Trend()
	if s.flags.json {
		out := seriesJSON{Name: series.Name, Unit: series.Unit, Points: []map[string]any{}}
		for _, p := range series.Points {
			out.Points = append(out.Points, map[string]any{"entry": p.Entry.ID, "at": p.Entry.At, "visit": p.Visit, "by": p.Entry.By, "written": p.Written, "value": p.Value, "gauge": p.Gauge, "conditions": p.With})
		}
		if has {
			out.Trend = &trend
		}
		return s.JSON(out)
	}
	var rows [][]string
	for _, p := range series.Points {
		rows = append(rows, []string{p.Visit, s.when(p.Entry.At.UTC().Format(time.RFC3339)), p.Entry.By, p.Written, orDash(p.Gauge), p.With})
	}
	s.Head("%s: %s", v.Data.Name, series.Name)
	s.Table([]string{"VISIT", "WHEN", "WHO", "READ", "GAUGE", "CONDITIONS"}, rows)
	if has {
		s.drawSeries(series, trend)
		s.Say("%s", audit.TrendText(series, trend))
	}
	return nil
}

// drawSeries is the series as a chart, for a person.
func (s *session) drawSeries(series past.Series, trend past.Trend) {
	if !s.Terminal() {
		return
	}
	line := chart.Line{Name: series.Name, Kind: chart.Marked, Mark: 'o'}
	for _, p := range series.Points {
		line.Points = append(line.Points, chart.Point{X: float64(p.Entry.At.Unix()), Y: p.Value})
	}
	first, last := line.Points[0].X, line.Points[len(line.Points)-1].X
	fit := chart.Line{Name: "trend", Mark: '.', Points: []chart.Point{{X: first, Y: trend.First}, {X: last, Y: trend.Last}}}
	c := chart.Chart{X: chart.Axis{Dates: true}, Panels: []chart.Panel{{Y: chart.Axis{Label: series.Name, Unit: series.Unit}, Lines: []chart.Line{fit, line}}}}
	for _, l := range c.Text(s.Columns()) {
		s.Say("%s", l)
	}
}
