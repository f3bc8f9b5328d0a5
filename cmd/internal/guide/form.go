package guide

import (
	"fmt"
	"slices"
	"strings"

	"feedproof/cmd/internal/desk"
	"feedproof/cmd/internal/facts"
	"feedproof/schema"
)

// form is a reading being typed: one value after the other.
type form struct {
	test   schema.Reading
	joints []string
	asks   []ask
	given  []schema.Value // one for each ask answered; without content: left out
	by     string         // who began it
}

// ask is one value that the form asks for.
type ask struct {
	name  string
	value schema.ReadingValue
	sort  sort
	more  bool // of a further round of a series: Enter ends it
}

type sort int

const (
	askNumber sort = iota
	askSeen
	askJoint  // the name of a further joint
	askPerson // who else saw it
)

// occasions are the conditions that the name of a test says; they are shown
// and recorded with it.
var occasions = map[string]schema.Conditions{
	"base": {Hose: "off"}, "idle": {Engine: "idle"}, "load": {Engine: "load"}, "supply": {Engine: "load"}, "leak": {Engine: "off"}, "leak-down": {Engine: "off"},
}

// read begins a reading.
func (w *Work) read(test string) {
	t, ok := schema.FindReading(test)
	if !ok {
		w.problem = w.say("no.page", test)
		return
	}
	f := newForm(t, w.joints())
	w.to(f)
	w.keepForm(f)
}

func newForm(t schema.Reading, joints []string) *form {
	f := &form{test: t, joints: joints}
	for _, v := range t.Values {
		if t.Joints && v.Name == "joint" {
			for _, j := range joints {
				f.asks = append(f.asks, ask{name: j, value: v, sort: askSeen})
			}
			f.asks = append(f.asks, ask{value: v, sort: askJoint, more: true})
			continue
		}
		f.asks = append(f.asks, ask{name: v.Name, value: v, sort: sortOf(v), more: v.Optional})
	}
	if t.Joints {
		f.asks = append(f.asks, ask{sort: askPerson, more: true})
	}
	return f
}

func sortOf(v schema.ReadingValue) sort {
	if len(v.Seen) > 0 {
		return askSeen
	}
	return askNumber
}

// resumed is the form that was being typed when this bay was left.
func resumed(w *Work, p desk.Place) (*form, bool) {
	t, ok := schema.FindReading(p.Test)
	if !ok {
		return nil, false
	}
	f := newForm(t, p.Joints)
	f.by = p.By
	for _, v := range p.Given {
		if _, open := f.now(); open {
			f.give(v)
		}
	}
	return f, true
}

func (w *Work) keepForm(f *form) {
	if f.by == "" {
		f.by = w.at.Who.ID
	}
	w.keep(desk.Place{Task: w.chosen, Test: f.test.Name, Joints: f.joints, Given: f.given, By: f.by})
}

// joints are the joints that a leak test looks at: those opened in this visit
// and those looked at before.
func (w *Work) joints() []string {
	var out []string
	add := func(name string) {
		if name != "" && !slices.Contains(out, name) {
			out = append(out, name)
		}
	}
	c := w.at.Assessment.Car
	for _, o := range c.VisitOpenings() {
		if !strings.HasPrefix(o.Joint, "step ") {
			add(o.Joint)
		}
	}
	for _, r := range c.All("leak") {
		for _, v := range r.Data.Values {
			if v.Seen != "" {
				add(v.Name)
			}
		}
	}
	return out
}

// now is the ask that waits for its answer.
func (f *form) now() (ask, bool) {
	if len(f.given) >= len(f.asks) {
		return ask{}, false
	}
	return f.asks[len(f.given)], true
}

// give answers the ask. A value of a series asks for the next round; leaving a
// further round out ends it.
func (f *form) give(v schema.Value) {
	a := f.asks[len(f.given)]
	f.given = append(f.given, v)
	at := len(f.given)
	empty := v.Name == "" && v.State == ""
	switch {
	case a.sort == askJoint && !empty:
		f.asks = slices.Insert(f.asks, at, ask{name: v.Name, value: a.value, sort: askSeen}, ask{value: a.value, sort: askJoint, more: true})
		f.given[at-1] = schema.Value{}
	case a.value.Repeats && a.sort != askJoint && !f.test.Joints && !empty && f.endsRound(a):
		f.asks = slices.Insert(f.asks, at, f.round()...)
	case a.value.Repeats && a.more && empty:
		for at < len(f.asks) && f.asks[at].more && f.asks[at].value.Repeats {
			f.asks = slices.Delete(f.asks, at, at+1)
		}
	}
}

// endsRound reports that the value is the last of its series.
func (f *form) endsRound(a ask) bool {
	series := f.round()
	return len(series) > 0 && series[len(series)-1].name == a.value.Name
}

// round is one more round of the series that the test asks for.
func (f *form) round() []ask {
	var out []ask
	for _, v := range f.test.Values {
		if v.Repeats {
			out = append(out, ask{name: v.Name, value: v, sort: sortOf(v), more: true})
		}
	}
	return out
}

func (f *form) instant(*Work) bool {
	a, ok := f.now()
	return ok && (a.sort == askSeen || a.sort == askPerson)
}

func (f *form) middle(w *Work) []Line {
	lines := []Line{{Spans: []Span{{Text: " " + w.say("do.read", f.test.Name) + " ", Tone: Info}, {Text: "  " + f.test.Title}}, Hang: 3}}
	if c, ok := occasions[f.test.Name]; ok {
		lines = append(lines, Toned("   "+w.say("occasion", facts.Conditions(c)), Faint))
	}
	if f.others(w) {
		lines = append(lines, Toned(" ▲ "+w.say("begun.by", f.by)+" ", Careful))
	}
	for _, l := range w.limits(f.test.Name) {
		lines = append(lines, Line{Spans: []Span{{Text: "   " + l}}, Hang: 5})
	}
	lines = append(lines, Line{})
	for i, v := range f.given {
		if v.Name != "" || v.State != "" {
			lines = append(lines, Text(fmt.Sprintf("   %-18s %s", f.asks[i].name, facts.Value(v))))
		}
	}
	if a, ok := f.now(); ok {
		lines = append(lines, w.asking(f, a)...)
	}
	return lines
}

// asking is the input: the value's name, what was typed, its unit and the same
// in the other system of units.
func (w *Work) asking(f *form, a ask) []Line {
	switch a.sort {
	case askSeen:
		lines := []Line{Toned("   "+a.name, Strong)}
		for i, word := range a.value.Seen {
			lines = append(lines, Line{Spans: []Span{{Text: fmt.Sprintf("      %d  %s", i+1, w.say("seen."+word))}}, Pick: true})
		}
		return lines
	case askJoint:
		return []Line{Toned("   "+w.say("more.joint"), Strong), Toned("   > "+w.typed+"_ ", Typed)}
	case askPerson:
		lines := []Line{Toned("   "+w.say("who.saw"), Strong)}
		for i, p := range w.otherPeople() {
			lines = append(lines, Line{Spans: []Span{{Text: fmt.Sprintf("      %d  %s", i+1, named(p))}}, Pick: true})
		}
		return lines
	}
	unit := w.unit(a.value)
	box := Span{Text: fmt.Sprintf(" %s_ %s ", w.typed, unit), Tone: Typed}
	if typedUnit(w.typed) {
		box.Text = fmt.Sprintf(" %s_ ", w.typed)
	}
	line := Line{Spans: []Span{{Text: fmt.Sprintf("   %-18s", a.name), Tone: Strong}, box, {Text: w.twin(a.value)}}}
	if g, ok := w.gauge(a.value); ok {
		line.Spans = append(line.Spans, Span{Text: "  " + w.say("on.gauge", g.Snapshot.Gauge, g.Data.Name), Tone: Faint})
	}
	return []Line{line}
}

func (w *Work) otherPeople() []desk.Person {
	people, err := w.bench.People()
	if err != nil {
		w.problem = err.Error()
	}
	return slices.DeleteFunc(people, func(p desk.Person) bool { return p.ID == w.at.Who.ID })
}

func (f *form) keys(w *Work) []Line {
	how := "form.enter"
	a, _ := f.now()
	switch {
	case a.sort == askPerson:
		how = "form.person"
	case a.sort == askSeen && !a.more:
		how = "form.seen"
	case a.more:
		how = "form.more"
	}
	return []Line{Text(" " + w.say(how)), Text(" " + w.say("form.keys"))}
}

// others reports that somebody else began this reading.
func (f *form) others(w *Work) bool { return f.by != "" && f.by != w.at.Who.ID && len(f.given) > 0 }
