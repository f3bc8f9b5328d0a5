package guide

import (
	"fmt"
	"slices"

	"feedproof/cmd/internal/desk"
	"feedproof/cmd/internal/facts"
	"feedproof/schema"
)

// Of the car's entries the last so many are offered to be taken back.
const offeredEntries = 8

// pickEntry offers the last facts of the car.
func (w *Work) pickEntry(do func(schema.Entry)) {
	m := menu{title: w.say("which.entry")}
	for _, e := range slices.Backward(w.at.Assessment.Car.Standing()) {
		if len(m.items) == offeredEntries {
			break
		}
		if e.Kind == "correct" || e.Kind == "signoff" || e.Kind == "vehicle" || e.Kind == "visit" {
			continue
		}
		m.items = append(m.items, item{fmt.Sprintf("#%d  %s  %s", e.Counter, e.By, short([]string{facts.Fact(e)})), func() { do(e) }})
	}
	w.to(m)
}

// takeBack voids an entry with its reason.
func (w *Work) takeBack(e schema.Entry) {
	m := menu{title: w.say("why.back", e.Counter)}
	for _, why := range []string{"slip of the finger", "wrong gauge", "wrong unit", "read at the wrong place"} {
		m.items = append(m.items, item{w.say("why." + why), func() { w.void(e, why) }})
	}
	m.items = append(m.items, item{w.say("type.it"), func() { w.ask(w.say("why.back", e.Counter), func(why string) { w.void(e, why) }) }})
	w.to(m)
}

func (w *Work) void(e schema.Entry, why string) {
	w.record(schema.CorrectData{Entry: e.ID, Action: schema.Void, Why: why})
}

// moveAway moves an entry to the car it belongs to: it stays in the record here
// and counts no longer.
func (w *Work) moveAway(e schema.Entry) {
	cars, err := w.bench.Cars()
	if err != nil {
		w.problem = err.Error()
		return
	}
	m := menu{title: w.say("which.car")}
	for _, c := range cars {
		if c.ID == w.at.Car.ID {
			continue
		}
		m.items = append(m.items, item{joined("  ", first(c.Plate, c.Name), c.Words), func() { w.move(e, c) }})
	}
	w.to(m)
}

// move writes the entry on the other car and takes it back here.
func (w *Work) move(e schema.Entry, to desk.Tag) {
	w.write(func() (schema.Entry, error) { return w.bench.Move(e, to.ID, "belongs to the other car") })
	if w.problem == "" {
		w.slip = slip{}
		w.told = w.say("moved", first(to.Plate, to.Name), e.Counter, facts.Fact(e))
	}
}
