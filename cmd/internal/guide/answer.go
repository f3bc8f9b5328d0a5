package guide

import (
	"slices"
	"strings"

	"feedproof/cmd/internal/desk"
	"feedproof/schema"
)

// take is one answer: a number, a word's number, a name; nothing leaves an
// optional value out and otherwise offers what else there is.
func (f *form) take(w *Work, answer string) {
	w.problem = ""
	a, ok := f.now()
	answer = strings.TrimSpace(answer)
	switch {
	case !ok:
		f.finish(w)
	case answer == "" && a.more:
		f.accept(w, schema.Value{})
	case answer == "" || answer == "0" && f.instant(w):
		w.to(f.elsewise(w, a))
	case a.sort == askSeen:
		f.takeSeen(w, a, answer)
	case a.sort == askJoint:
		f.accept(w, schema.Value{Name: answer, Seen: "?"})
	case a.sort == askPerson:
		f.takePerson(w, answer)
	default:
		f.takeNumber(w, a, answer)
	}
}

func (f *form) takeSeen(w *Work, a ask, answer string) {
	i := slices.Index(a.value.Seen, answer)
	if i < 0 {
		i = picked(answer, len(a.value.Seen))
	}
	if i < 0 {
		w.problem = w.say("no.key", answer)
		return
	}
	f.accept(w, schema.Value{Name: a.name, Seen: a.value.Seen[i]})
}

func (f *form) takePerson(w *Work, answer string) {
	others := w.otherPeople()
	i := picked(answer, len(others))
	if i < 0 {
		w.problem = w.say("no.key", answer)
		return
	}
	f.accept(w, schema.Value{Name: others[i].ID})
}

// picked is the index of a typed number of a list; -1 when there is none.
func picked(answer string, of int) int {
	if !isDigit(answer) || answer == "0" || int(answer[0]-'0') > of {
		return -1
	}
	return int(answer[0]-'0') - 1
}

func (f *form) takeNumber(w *Work, a ask, answer string) {
	v, err := w.number(a, answer)
	if err != nil {
		w.typed, w.problem = answer, err.Error()
		return
	}
	gauges, err := w.bench.Gauges(a.value)
	if err != nil {
		w.problem = err.Error()
		return
	}
	if g, ok := w.gauge(a.value); ok {
		v.Gauge = &g.Snapshot
	} else if len(gauges) > 1 {
		w.to(f.whichGauge(w, a, answer, gauges))
		return
	}
	f.accept(w, v)
}

// whichGauge asks once which of several instruments it is read on.
func (f *form) whichGauge(w *Work, a ask, answer string, gauges []desk.Instrument) menu {
	m := menu{title: w.say("which.gauge", a.name), back: func() { w.to(f) }}
	for _, g := range gauges {
		m.items = append(m.items, item{g.Snapshot.Gauge + "  " + g.Data.Name, func() {
			w.learnGauge(a.value, g.Snapshot.Gauge)
			w.to(f)
			f.takeNumber(w, a, answer)
		}})
	}
	return m
}

// accept keeps the value, on the disk, and goes on.
func (f *form) accept(w *Work, v schema.Value) {
	f.give(v)
	w.typed = ""
	w.keepForm(f)
	if _, open := f.now(); !open {
		f.finish(w)
	}
}

// finish records the reading.
func (f *form) finish(w *Work) {
	d := schema.ReadingData{Test: f.test.Name, Late: w.late()}
	for i, v := range f.given {
		switch {
		case v.Name == "" && v.State == "":
		case f.asks[i].sort == askPerson:
			d.Second = v.Name
		default:
			d.Values = append(d.Values, v)
		}
	}
	if f.others(w) {
		d.Note = "begun by " + f.by
	}
	if len(d.Values) == 0 {
		w.problem = w.say("nothing.typed")
		f.given = nil
		w.home()
		return
	}
	if c, ok := occasions[f.test.Name]; ok {
		d.Conditions = &c
	}
	w.record(d)
}

// elsewise is what else can be said of a value than a number.
func (f *form) elsewise(w *Work, a ask) menu {
	m := menu{title: w.say("else.title", a.name), back: func() { w.to(f) }}
	for _, u := range w.units(a.value) {
		if a.sort == askNumber && u != w.unit(a.value) {
			m.items = append(m.items, item{w.say("else.unit", u), func() { w.learnUnit(a.value, u); w.to(f) }})
		}
	}
	for _, why := range []string{"no gauge for it", "cannot be reached now"} {
		m.items = append(m.items, item{w.say("else.not", w.say("why."+why)), func() {
			w.to(f)
			f.accept(w, schema.Value{Name: a.name, State: schema.NotMeasured, Why: why})
		}})
	}
	if len(f.given) > 0 {
		m.items = append(m.items, item{w.say("else.back"), func() { f.back(w) }})
	}
	m.items = append(m.items,
		item{w.say("else.unknown"), func() { w.to(f); f.accept(w, schema.Value{Name: a.name, State: schema.Unknown}) }},
		item{w.say("else.again"), func() { w.read(f.test.Name) }},
		item{w.say("else.leave"), w.home})
	return m
}

// back takes the last value back, before the reading is recorded.
func (f *form) back(w *Work) {
	again := newForm(f.test, f.joints)
	again.by = f.by
	for _, v := range f.given[:len(f.given)-1] {
		again.give(v)
	}
	w.to(again)
	w.keepForm(again)
}
