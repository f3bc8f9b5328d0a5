package sheets

import (
	"fmt"
	"slices"
	"strings"

	"feedproof/checklist"
	"feedproof/checklist/past"
	"feedproof/checklist/state"
	"feedproof/cmd/internal/facts"
	"feedproof/schema"
)

// Lead is the sheet that a lead reads before signing: what is not proven first,
// then every number beside its limit and the gauge it was read on.
func Lead(a checklist.Assessment, s Style) *Document {
	d := newDocument(s)
	d.identity(a.Car, "sheet.lead")
	d.release(a)
	d.notProven(a)
	d.apartFrom(a)
	d.points(a)
	d.numbers(a)
	d.answers(a.Car)
	d.charts(a)
	d.pull(s)
	d.foot(a, s.Origin)
	return d
}

func mark(s schema.Severity) string { return facts.Shape(s) + " " + s.String() }

// shownOpen is how many open findings a review lists: more are no review.
const shownOpen = 18

// notProven lists what is not answered, the heaviest first, and what is only
// waiting after it.
func (d *Document) notProven(a checklist.Assessment) {
	d.head(2, d.say("sheet.notproven"))
	said, waiting := checklist.Parted(a.Findings)
	open := slices.DeleteFunc(append(said, waiting...), func(f schema.Finding) bool { return f.Severity < schema.Flag || f.Answered != "" })
	var rows [][]string
	for _, f := range open[:min(len(open), shownOpen)] {
		rows = append(rows, []string{mark(f.Severity), f.Rule + " " + f.About, f.Measured, f.Limit, forCar(f.Next, a.Car)})
	}
	d.table([]string{"", d.say("sheet.what"), d.say("sheet.measured.value"), d.say("sheet.limit"), d.say("sheet.next")}, rows, d.say("sheet.none.open"))
	if more := len(open) - len(rows); more > 0 {
		d.line(plain(d.say("more.findings", more)))
	}
}

// apartFrom lists what bays wrote in this visit without knowing of each other.
func (d *Document) apartFrom(a checklist.Assessment) {
	var rows [][]string
	for _, s := range past.Strands(a.Car.Record) {
		if len(s.Unknown) == 0 || !a.Car.InVisit(s.Entry) {
			continue
		}
		var others []string
		for _, e := range s.Unknown {
			others = append(others, fmt.Sprintf("#%d %s", e.Counter, e.Device))
		}
		rows = append(rows, []string{fmt.Sprintf("#%d", s.Entry.Counter), s.Entry.Device, facts.Fact(s.Entry), strings.Join(others, ", ")})
	}
	if len(rows) > 0 {
		d.head(2, d.say("sheet.apart"))
		d.table([]string{"", d.say("sheet.bay"), d.say("sheet.what"), d.say("sheet.unknown")}, rows, "")
	}
}

// points lists the hold points that are not closed and what they want, and the
// closed ones in a line, in the order in which they were closed.
func (d *Document) points(a checklist.Assessment) {
	d.head(2, d.say("sheet.points"))
	var rows [][]string
	var closed []checklist.Point
	for _, p := range a.Points {
		switch {
		case p.State == checklist.PointClosed:
			closed = append(closed, p)
		case !p.Release:
			rows = append(rows, []string{p.ID, joined(": ", string(p.State), p.Why), p.Name + wants(p.Missing)})
		}
	}
	if a.Car.Visit == nil {
		d.line(plain(d.say("no.visit")))
		return
	}
	d.table([]string{"", d.say("sheet.state"), d.say("sheet.what")}, rows, "")
	slices.SortStableFunc(closed, func(x, y checklist.Point) int { return x.At.Compare(y.At) })
	var done []string
	for _, p := range closed {
		done = append(done, fmt.Sprintf("%s %s %s", p.ID, p.ClosedBy, stamp(p.At)))
	}
	if len(done) > 0 {
		d.line(plain(d.say("sheet.closed", strings.Join(done, "; "))))
	}
}

// wants is the first thing a hold point wants, and how many more there are.
func wants(missing []string) string {
	switch len(missing) {
	case 0:
		return ""
	case 1:
		return ": " + missing[0]
	}
	return fmt.Sprintf(": %s (+%d)", missing[0], len(missing)-1)
}

// numbers lists every value of the last reading of each test in the visit, and
// the instruments they were read on, each as it was then.
func (d *Document) numbers(a checklist.Assessment) {
	d.head(2, d.say("sheet.numbers"))
	var rows [][]string
	var gauges []string
	for _, t := range schema.Readings {
		r, ok := a.Car.Last(t.Name)
		if !ok {
			continue
		}
		limit, state := limitOf(a, t.Name)
		rows = append(rows, []string{t.Name, values(r.Data), gaugesOf(r.Data), joined(" ", state, limit), joined(" + ", r.Entry.By, r.Data.Second) + " " + stamp(r.Entry.At)})
		for _, g := range dues(r.Data) {
			if !slices.Contains(gauges, g) {
				gauges = append(gauges, g)
			}
		}
	}
	d.table([]string{d.say("sheet.reading"), d.say("sheet.value"), d.say("sheet.gauge"), d.say("sheet.limit"), d.say("sheet.by")}, rows, d.say("sheet.none.measured"))
	if len(gauges) > 0 {
		slices.Sort(gauges)
		d.line(plain(d.say("sheet.gauges", strings.Join(gauges, "; "))))
	}
}

func values(r schema.ReadingData) string {
	var out []string
	for _, v := range r.Values {
		out = append(out, v.Name+" "+facts.Value(v))
	}
	if r.Conditions != nil {
		out = append(out, facts.Conditions(*r.Conditions))
	}
	return strings.Join(append(out, notEmpty(r.Late)...), ", ")
}

func notEmpty(text string) []string {
	if text == "" {
		return nil
	}
	return []string{text}
}

// gaugesOf names the instruments of a reading.
func gaugesOf(r schema.ReadingData) string {
	var out []string
	for _, v := range r.Values {
		if v.Gauge != nil && !slices.Contains(out, v.Gauge.Gauge) {
			out = append(out, v.Gauge.Gauge)
		}
	}
	return strings.Join(out, " ")
}

// dues says of each instrument of a reading to which day its calibration was
// good at that moment.
func dues(r schema.ReadingData) []string {
	var out []string
	for _, v := range r.Values {
		if v.Gauge != nil {
			out = append(out, v.Gauge.Gauge+" "+first(v.Gauge.Due, "?"))
		}
	}
	return out
}

// limitOf is what the findings about a test hold it to, and the heaviest
// judgement of it.
func limitOf(a checklist.Assessment, test string) (limits, state string) {
	found := checklist.About(a, test)
	var out []string
	for _, f := range found {
		if text := f.About + ": " + f.Limit; f.Limit != "" && len(out) < 3 {
			out = append(out, text)
		}
	}
	if len(found) == 0 {
		return "", ""
	}
	return strings.Join(out, "; "), mark(found[0].Severity)
}

// answers lists acknowledgements and waivers of the visit.
func (d *Document) answers(c *state.Car) {
	var rows [][]string
	for _, x := range c.Acks {
		rows = append(rows, []string{d.say("sheet.acknowledged"), facts.Answered(x.Data.Rule, x.Data.Subject, string(x.Data.Code), nil), schema.Text(x.Data.Values), x.Data.Why, x.Entry.By, stamp(x.Entry.At)})
	}
	for _, x := range c.Waivers {
		why := x.Data.Why + "; " + x.Data.Measure + "; " + d.say("sheet.until", x.Data.Expires)
		rows = append(rows, []string{d.say("sheet.waived"), x.Data.Key(), schema.Text(x.Data.Values), why, x.Entry.By, stamp(x.Entry.At)})
	}
	if len(rows) > 0 {
		d.head(2, d.say("sheet.answers"))
		d.table([]string{"", d.say("sheet.what"), d.say("sheet.measured.value"), d.say("sheet.why"), d.say("sheet.by"), d.say("sheet.at")}, rows, "")
	}
}

// charts are those of the plan and of what was read.
func (d *Document) charts(a checklist.Assessment) {
	u := axesOf(d.system)
	if r, err := checklist.Plan(a.Car); err == nil {
		c, ok := deliveryChart(a.Car, r, u)
		d.chart(c, ok)
		c, ok = pressureChart(r, u)
		d.chart(c, ok)
	}
	c, ok := slopeChart(a.Car, u)
	d.chart(c, ok)
}
