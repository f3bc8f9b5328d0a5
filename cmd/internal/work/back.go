package work

import (
	"fmt"
	"slices"

	"feedproof/cmd/internal/sheet"
	"feedproof/schema"
)

// Of the car's entries the last so many are offered to be taken back.
const offeredEntries = 8

// pickEntry offers the last facts of the car.
func (w *Work) pickEntry(do func(schema.Entry)) {
	m := menu{title: w.say("which.entry")}
	for _, e := range slices.Backward(w.at.Assessment.Car.Record.Entries) {
		if len(m.items) == offeredEntries {
			break
		}
		if e.Kind == "correct" || e.Kind == "signoff" || e.Kind == "vehicle" || e.Kind == "visit" {
			continue
		}
		m.items = append(m.items, item{fmt.Sprintf("#%d  %s  %s", e.Counter, e.By, short([]string{sheet.Fact(e)})), func() { do(e) }})
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

// moveAway says that an entry belongs to another car: it stays in the record
// here, counts no longer, and says where it belongs.
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

// move takes the entry back here and writes it on the car it belongs to.
func (w *Work) move(e schema.Entry, to Car) {
	w.record(schema.CorrectData{Entry: e.ID, Action: schema.Move, To: to.ID, Why: "belongs to the other car"})
	if w.problem == "" {
		w.told += ". " + w.say("moved", first(to.Plate, to.Name))
	}
}
