package cli

import (
	"fmt"
	"time"

	"feedproof/checklist/audit"
	"feedproof/checklist/past"
	"feedproof/checklist/state"
	"feedproof/cmd/internal/desk"
	"feedproof/cmd/internal/facts"
	"feedproof/cmd/internal/facts/chart"
	"feedproof/cmd/internal/terminal"
	"feedproof/schema"
)

// storyJSON is a car through the years as --json prints it.
type storyJSON struct {
	Vehicle string `json:"vehicle"`
	ID      string `json:"id"`
	past.Story
	Facts []factJSON `json:"facts"`
}

// showStory shows a car through the years. Every fact follows in JSON, in a pipe,
// and when it is asked for.
func showStory(d *desk.Desk, out *terminal.Screen, c desk.Car, facts bool) error {
	story := past.Tell(state.Fold(state.Told(c.Whole()), schema.Shop{}, d.Now()))
	if out.AsJSON() {
		return out.JSON(storyJSON{c.Data.Name, c.ID, story, factsOn(c)})
	}
	if len(state.Written(c.Whole())) == 0 { // it was not known yet, which has been said
		return nil
	}
	if out.Terminal() {
		out.Head("%s · %s", desk.Describe([]string{c.Data.Name, c.Data.Plate, tail(c.Data.VIN)}), c.Data.Description)
	}
	section(out, "visits", []string{"VISIT", "JOBS", "OPENED", "CLOSED", "ODOMETER", "RELEASED", "REASON"}, visitRows(story))
	section(out, "fitted", []string{"POSITION", "SINCE", "AT", "PART"}, componentRows(story, true))
	section(out, "was fitted", []string{"POSITION", "FROM", "TO", "PART", "WHY"}, componentRows(story, false))
	section(out, "envelopes", []string{"WHEN", "HOW", "BY", "LIMITS"}, envelopeRows(story))
	section(out, "findings as shown", []string{"WHEN", "SHOWN", "SEVERITY", "WHAT"}, findingRows(story))
	section(out, "waivers", []string{"WHEN", "BY", "EXPIRES", "WHAT"}, waiverRows(story))
	section(out, "sign-offs", []string{"WHEN", "VISIT", "BY", "SEEN", "RULES", "RE-CHECK"}, signOffRows(story))
	section(out, "incidents", []string{"WHEN", "BY", "SEVERITY", "WHAT"}, incidentRows(story))
	section(out, "care ended", []string{"WHEN", "BY", "RECORD KEPT UNTIL", "WHY"}, careRows(story))
	if !facts && out.Terminal() {
		out.Say("")
		out.Say("Every fact: feedproof history %s --facts", desk.Quoted(c.Data.Name))
		return nil
	}
	var rows [][]string
	apart := 0
	for _, l := range factsOn(c) {
		if bays := len(l.strand.Devices); bays != apart && bays > 0 {
			rows = append(rows, apartRow(l.strand))
		}
		apart = len(l.strand.Devices)
		rows = append(rows, factRow(d, out, l))
	}
	out.Table([]string{"#", "WHEN", "WHO", "WHAT"}, rows)
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

func visitRows(story past.Story) [][]string {
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

func componentRows(story past.Story, now bool) [][]string {
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

func envelopeRows(story past.Story) [][]string {
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

func findingRows(story past.Story) [][]string {
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

func waiverRows(story past.Story) [][]string {
	var rows [][]string
	for _, w := range story.Waivers {
		rows = append(rows, []string{dayOf(w.When), w.By, w.Expires, fmt.Sprintf("%s: %s; instead: %s", w.Finding, w.Why, w.Measure)})
	}
	return rows
}

func signOffRows(story past.Story) [][]string {
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

func incidentRows(story past.Story) [][]string {
	var rows [][]string
	for _, i := range story.Incidents {
		rows = append(rows, []string{dayOf(i.When), i.By, i.Severity, desk.Joined(i.What, "injury: "+string(i.Injury), i.Action)})
	}
	return rows
}

// stamped is a time in RFC 3339; what is no time stays as it was typed.
func stamped(now time.Time, typed string) string {
	t, err := moment(now, typed)
	if err != nil || typed == "" {
		return typed
	}
	return t.Format(time.RFC3339)
}

// showSince shows what changed between the last two visits.
func showSince(d *desk.Desk, out *terminal.Screen, c desk.Car) error {
	since, ok := past.SinceLast(state.Fold(state.Told(c.Whole()), schema.Shop{}, d.Now()))
	if !ok {
		return failed("feedproof history "+desk.Quoted(c.Data.Name), "%s: has had fewer than two visits", c.Data.Name)
	}
	if out.AsJSON() {
		return out.JSON(since)
	}
	out.Head("%s: visit %s beside visit %s, %s", c.Data.Name, since.After, since.Before, desk.Joined(desk.Plural(since.Days, "day")+" apart", prefix("driven ", since.Driven)))
	var again, changes, readings [][]string
	for _, g := range since.Again {
		again = append(again, []string{g.What, g.Why})
	}
	for _, change := range since.Changes {
		changes = append(changes, []string{change.What, orDash(change.Before), orDash(change.After)})
	}
	for _, r := range since.Readings {
		readings = append(readings, []string{r.What, r.Before, r.After, orDash(r.Tolerance), readingWord(r)})
	}
	section(out, "look at again", []string{"WHAT", "WHY"}, again)
	section(out, "changed", []string{"WHAT", "THEN", "NOW"}, changes)
	section(out, "measured", []string{"WHAT", "THEN", "NOW", "WITHIN", "SO"}, readings)
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
	Name   string      `json:"name"`
	Unit   string      `json:"unit"`
	Points []pointJSON `json:"points"`
	Trend  *past.Trend `json:"trend,omitempty"`
}

// pointJSON is one reading of it.
type pointJSON struct {
	At         time.Time `json:"at"`
	By         string    `json:"by"`
	Conditions string    `json:"conditions"`
	Entry      string    `json:"entry"`
	Gauge      string    `json:"gauge"`
	Value      float64   `json:"value"`
	Visit      string    `json:"visit"`
	Written    string    `json:"written"`
}

// showSeries shows one quantity through the years with its gauges and trend.
func showSeries(d *desk.Desk, out *terminal.Screen, c desk.Car, name string) error {
	test, value, ok := audit.QuantityOf(name)
	if !ok {
		return wrong(`--reading "base rail"; feedproof explain base lists the values of base`, "--reading: %q is not a test and one of its values", name)
	}
	series, err := past.Read(state.Fold(state.Told(c.Whole()), schema.Shop{}, d.Now()), test, value)
	if err != nil {
		return wrong("feedproof explain "+desk.Quoted(test), "--reading: %v", err)
	}
	trend, has := series.Trend()
	if out.AsJSON() {
		answer := seriesJSON{Name: series.Name, Unit: series.Unit, Points: []pointJSON{}}
		for _, p := range series.Points {
			answer.Points = append(answer.Points, pointJSON{p.Entry.At, p.Entry.By, p.With, p.Entry.ID, p.Gauge, p.Value, p.Visit, p.Written})
		}
		if has {
			answer.Trend = &trend
		}
		return out.JSON(answer)
	}
	var rows [][]string
	for _, p := range series.Points {
		rows = append(rows, []string{p.Visit, when(out, d.Now(), p.Entry.At.UTC().Format(time.RFC3339)), p.Entry.By, p.Written, orDash(p.Gauge), p.With})
	}
	out.Head("%s: %s", c.Data.Name, series.Name)
	out.Table([]string{"VISIT", "WHEN", "WHO", "READ", "GAUGE", "CONDITIONS"}, rows)
	if has {
		drawSeries(out, series, trend)
		out.Say("%s", audit.TrendText(series, trend))
	}
	return nil
}

// drawSeries is the series as a chart, for a person.
func drawSeries(out *terminal.Screen, series past.Series, trend past.Trend) {
	if !out.Terminal() {
		return
	}
	line := chart.Line{Name: series.Name, Kind: chart.Marked, Mark: 'o'}
	for _, p := range series.Points {
		line.Points = append(line.Points, chart.Point{X: float64(p.Entry.At.Unix()), Y: p.Value})
	}
	first, last := line.Points[0].X, line.Points[len(line.Points)-1].X
	fit := chart.Line{Name: "trend", Mark: '.', Points: []chart.Point{{X: first, Y: trend.First}, {X: last, Y: trend.Last}}}
	drawn := chart.Chart{X: chart.Axis{Dates: true}, Panels: []chart.Panel{{Y: chart.Axis{Label: series.Name, Unit: series.Unit}, Lines: []chart.Line{fit, line}}}}
	for _, l := range drawn.Text(out.Columns()) {
		out.Say("%s", l)
	}
}
