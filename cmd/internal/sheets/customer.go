package sheets

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"feedproof/checklist"
	"feedproof/checklist/state"
	"feedproof/cmd/internal/facts"
	"feedproof/schema"
)

// Customer is the sheet that goes with the car: what may be asked of it, what
// was fitted and measured, what to do at a smell of fuel, when it comes back.
func Customer(a checklist.Assessment, s Style) *Document {
	d := newDocument(s)
	c := a.Car
	d.identity(c, "sheet.customer")
	d.release(a)
	d.limits(a)
	d.owner()
	d.head(2, d.say("sheet.fitted"))
	d.table([]string{d.say("sheet.where"), d.say("sheet.part"), d.say("sheet.by"), d.say("sheet.date"), d.say("sheet.what")}, facts.Fitted(c), d.say("sheet.none.fitted"))
	d.measured(a)
	d.open(a)
	if r, err := checklist.Plan(c); err == nil {
		ch, ok := deliveryChart(c, r, axesOf(d.system))
		d.chart(ch, ok)
	}
	d.pull(s)
	d.foot(a, s.Origin)
	return d
}

// identity is whose sheet it is.
func (d *Document) identity(c *state.Car, title string) {
	d.Title = d.say(title) + ": " + joined(", ", c.Vehicle.Name, c.Vehicle.Plate)
	d.head(1, d.say(title)+": "+joined(", ", c.Vehicle.Name, d.with("sheet.plate", c.Vehicle.Plate)))
	visit := ""
	if c.Visit != nil {
		visit = d.say("sheet.visit", c.Visit.Data.Visit, day(c.Visit.Entry.At))
	}
	d.line(plain(joined(", ", c.Vehicle.Description, d.with("sheet.vin", c.Vehicle.VIN), d.with("sheet.engine", c.Vehicle.Engine), visit)))
}

func (d *Document) with(key, text string) string {
	if text == "" {
		return ""
	}
	return d.say(key, text)
}

func joined(gap string, texts ...string) string {
	return strings.Join(slices.DeleteFunc(texts, func(t string) bool { return t == "" }), gap)
}

// release says first whether the car may leave, and what stands against it.
func (d *Document) release(a checklist.Assessment) {
	c := a.Car
	open := checklist.Open(a.Findings)
	against := ""
	if len(open) > 0 {
		against = " " + plain(fmt.Sprintf("%s: %s (%s). %s", open[0].About, open[0].Measured, d.say("limit", open[0].Limit), d.say("next", forCar(open[0].Next, c))))
	}
	signed, ok := a.Standing.Released()
	switch {
	case a.Standing.Held:
		d.apart("stop", "■ **"+d.say("sheet.held")+"**"+against+"\n\n")
	case len(open) > 0 || !ok:
		if against == "" {
			against = " " + plain(d.say("next", forCar(a.Next, c)))
		}
		d.apart("stop", "■ **"+d.say("sheet.not.released")+"**"+against+"\n\n")
	default:
		st := signed.Data.Statement
		d.apart("good", "● **"+d.say("sheet.released")+"** "+plain(d.say("sheet.released.by", person(c, st.Person), day(signed.Entry.At), st.Recheck))+"\n\n")
	}
	if a.Standing.FuelOpen {
		d.apart("care", "▲ **"+d.say("fuel.open")+"** "+plain(d.say("sheet.open.why"))+"\n\n")
	}
}

// forCar puts the car's name where a command says CAR.
func forCar(text string, c *state.Car) string {
	return strings.ReplaceAll(text, " CAR", " "+c.Vehicle.Name)
}

// limits are the envelope, and the fuel card of a car that was signed off.
func (d *Document) limits(a checklist.Assessment) {
	c := a.Car
	if c.Plan == nil {
		return
	}
	e := c.Plan.Envelope
	signed, released := a.Standing.Released()
	if released {
		e = signed.Data.Statement.Envelope
	}
	rows := [][]string{
		{d.say("sheet.power", c.Plan.Basis), facts.Both(e.Power.Written)},
		{d.say("sheet.manifold"), facts.Both(e.Manifold.Written)},
		{d.say("sheet.speed"), e.Speed.String()},
		{d.say("sheet.ethanol"), e.EthanolMin.String() + " – " + e.EthanolMax.String()},
		{d.say("sheet.altitude"), "≤ " + e.Altitude.String()},
		{d.say("sheet.level"), "≥ " + e.FuelLevel.String()},
	}
	if !released {
		d.head(2, d.say("sheet.envelope"))
		d.table([]string{d.say("sheet.limit"), d.say("sheet.value")}, rows, "")
		return
	}
	card := checklist.Card(c, e, signed.Entry.At, signed.Data.Statement.Recheck)
	d.head(2, d.say("sheet.card"))
	d.table([]string{d.say("sheet.limit"), d.say("sheet.value")}, append(rows, d.card(card)...), "")
	if len(card.Advice) > 1 {
		d.list(card.Advice[1:]) // the first is said below, in red
	}
}

// card lists what the fuel card says beyond the envelope.
func (d *Document) card(card checklist.FuelCard) [][]string {
	var rows [][]string
	for _, r := range [][]string{
		{"sheet.card.measured", card.Measured}, {"sheet.card.season", card.Season},
		{"sheet.card.recheck", card.Recheck}, {"sheet.card.odometer", card.Odometer}, {"sheet.card.yearly", card.Yearly},
	} {
		if r[1] != "" {
			rows = append(rows, []string{d.say(r[0]), r[1]})
		}
	}
	return rows
}

// owner is what every owner of a modified fuel system is told.
func (d *Document) owner() {
	d.apart("stop", "**"+d.say("sheet.smell")+"** "+d.say("sheet.smell.do")+"\n\n")
	d.apart("care", d.say("sheet.owner")+"\n\n")
}

// measured is what was read, each beside its limit.
func (d *Document) measured(a checklist.Assessment) {
	d.head(2, d.say("sheet.measured"))
	var rows [][]string
	said, _ := checklist.Parted(a.Findings)
	for _, f := range said {
		if f.Severity <= schema.Note && len(f.Entries) > 0 && f.Limit != "" {
			rows = append(rows, []string{mark(f.Severity), f.About, f.Measured, f.Limit})
		}
	}
	d.table([]string{"", d.say("sheet.what"), d.say("sheet.measured.value"), d.say("sheet.limit")}, rows, d.say("sheet.none.measured"))
}

// open is what is not in order, or was answered.
func (d *Document) open(a checklist.Assessment) {
	var rows [][]string
	said, waiting := checklist.Parted(a.Findings)
	for _, f := range said {
		if f.Severity >= schema.Flag {
			rows = append(rows, []string{mark(f.Severity), f.Rule + " " + f.About, f.Measured, f.Limit, d.answer(f)})
		}
	}
	d.head(2, d.say("sheet.findings"))
	d.table([]string{"", d.say("sheet.what"), d.say("sheet.measured.value"), d.say("sheet.limit"), ""}, rows, d.say("sheet.none.open"))
	if len(waiting) > 0 {
		d.line(plain(d.say("waiting", len(waiting))))
	}
}

func (d *Document) answer(f schema.Finding) string {
	if f.Answered != "" {
		return d.say("sheet.answered")
	}
	return ""
}

func person(c *state.Car, id string) string {
	if p, ok := c.Person(id); ok && p.Name != "" {
		return p.Name + " (" + id + ")"
	}
	return id
}

func day(t time.Time) string { return t.UTC().Format(time.DateOnly) }

func stamp(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return t.UTC().Format("2006-01-02 15:04")
}
