package guide

import (
	"fmt"

	"feedproof/cmd/internal/desk"
)

// Choice is an answer that is given whole: what [Work.Line] takes, and how it
// is called.
type Choice struct{ Answer, Text string }

// Asks is an answer that is typed, and the unit that it has when none is typed.
type Asks struct{ Name, Unit string }

// choices are what the keys do, but for another car and another person: a
// screen that has its own way to them shows that.
func (ready) choices(w *Work) []Choice {
	record := w.say("key.other")
	if t, _, ok := w.task(); ok {
		record = w.say("do."+string(t.Do), t.ID)
	}
	out := []Choice{{"1", record}, {"2", w.say("key.wrong")}, {"3", w.say("key.hand")}, {"8", w.say("key.other")}, {"4", w.say("key.why")}}
	if w.undoable() {
		out = append(out, Choice{"5", w.say("undo")})
	}
	return out
}

func (ready) wanted(*Work) *Asks { return nil }

func (m menu) choices(w *Work) []Choice {
	var out []Choice
	for i, it := range m.page() {
		out = append(out, Choice{fmt.Sprint(i + 1), it.text})
	}
	if m.long() {
		out = append(out, Choice{turnPage, w.say("more.items", m.from+1, m.from+len(m.page()), len(m.items))})
	}
	return append(out, Choice{"0", first(m.none, w.say("key.back"))})
}

func (menu) wanted(*Work) *Asks { return nil }

func (t typing) choices(w *Work) []Choice { return []Choice{{"", first(t.leave, w.say("key.back"))}} }

func (t typing) wanted(*Work) *Asks { return &Asks{Name: t.title} }

func (reader) choices(w *Work) []Choice { return []Choice{{"0", w.say("key.back")}} }

func (reader) wanted(*Work) *Asks { return nil }

func (f *form) choices(w *Work) []Choice {
	a, _ := f.now()
	var out []Choice
	switch a.sort {
	case askSeen:
		for i, word := range a.value.Seen {
			out = append(out, Choice{fmt.Sprint(i + 1), w.say("seen." + word)})
		}
	case askPerson:
		for i, p := range w.otherPeople() {
			out = append(out, Choice{fmt.Sprint(i + 1), named(p)})
		}
	}
	if a.more {
		return append(out, Choice{"", w.say("leave.out")})
	}
	return append(out, Choice{"", w.say("what.else")})
}

func named(p desk.Person) string { return p.ID + "  " + p.Name }

func (f *form) wanted(w *Work) *Asks {
	switch a, _ := f.now(); a.sort {
	case askNumber:
		return &Asks{Name: a.name, Unit: w.unit(a.value)}
	case askJoint:
		return &Asks{Name: w.say("more.joint")}
	}
	return nil
}
