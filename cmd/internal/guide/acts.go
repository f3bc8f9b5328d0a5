package guide

import (
	"strconv"
	"strings"

	"feedproof/checklist"
	"feedproof/checklist/procedures"
	"feedproof/cmd/internal/desk"
	"feedproof/schema"
)

// step records a step: which joint it opened, if it opens one, and who else was
// there, where two are asked for.
func (w *Work) step(id string, d schema.StepData) {
	s, _ := w.at.Assessment.Car.Book.Step(id)
	if w.paper != "" {
		d.Note = w.late()
	}
	switch {
	case s.Opens != procedures.OpensNothing && d.Joint == "":
		w.pickJoint(w.say("which.joint.opened"), func(joint string) { d.Joint = joint; w.step(id, d) })
	case checklist.CountsPlugs(id) && d.Count == "":
		w.ask(w.say("how.many"), func(text string) {
			if _, err := strconv.ParseUint(text, 10, 16); err != nil {
				w.problem = w.say("no.number", text)
				return
			}
			d.Count = schema.Number(text)
			w.step(id, d)
		})
	case s.Two && d.Second == "":
		w.pickSecond(func(p string) { d.Second = p; w.record(d) }, func() { w.record(d) })
	default:
		w.record(d)
	}
}

// usualJoints are the joints that most cars have.
var usualJoints = []string{"hanger flange", "feed line", "return line", "rail inlet", "regulator", "filter"}

func (w *Work) pickJoint(title string, do func(string)) {
	m := menu{title: title}
	for _, j := range w.joints() {
		m.items = append(m.items, item{j, func() { do(j) }})
	}
	for _, j := range usualJoints {
		known := strings.Join(w.joints(), "\n")
		if len(m.items) < mostChoices-1 && !strings.Contains("\n"+known+"\n", "\n"+j+"\n") {
			m.items = append(m.items, item{j, func() { do(j) }})
		}
	}
	m.items = append(m.items, item{w.say("type.it"), func() { w.ask(title, do) }})
	w.to(m)
}

// pickSecond asks for the second person; nobody is an answer.
func (w *Work) pickSecond(do func(string), nobody func()) {
	m := menu{title: w.say("who.saw"), back: nobody, none: w.say("nobody")}
	for _, p := range w.otherPeople() {
		m.items = append(m.items, item{p.ID + "  " + p.Name, func() { do(p.ID) }})
	}
	w.to(m)
}

// tickLevel is the level of proof that a named person's word is.
const tickLevel = 5

// prove answers a caution with what shows it.
func (w *Work) prove(id string) {
	k, ok := w.at.Assessment.Car.Book.Caution(id)
	if !ok {
		w.problem = w.say("no.page", id)
		return
	}
	if k.Needs.Test != "" {
		w.read(k.Needs.Test)
		return
	}
	m := menu{title: k.ID + ": " + k.Hazard, lines: []Line{{Spans: []Span{{Text: "   " + k.Do}}, Hang: 3}, {Spans: []Span{{Text: "   " + w.say("proof", k.Proof)}}, Hang: 3}, {}}}
	met := func(proof string) {
		do := func(others ...string) {
			w.record(schema.CautionData{Caution: id, State: schema.CautionMet, Proof: w.marked(proof), Persons: others})
		}
		if k.Needs.Persons > 1 {
			w.pickSecond(func(second string) { do(second) }, func() { do() })
			return
		}
		do()
	}
	if k.Needs.Level >= tickLevel {
		m.items = append(m.items, item{w.say("seen.by.me", w.at.Who.Name), func() { met("seen done as the card says, " + first(w.at.Who.Name, w.at.Who.ID)) }})
	}
	m.items = append(m.items,
		item{w.say("type.proof"), func() {
			w.ask(w.say("proof", k.Proof), met)
		}},
		item{w.say("not.here"), func() {
			w.ask(w.say("why.not.here"), func(why string) {
				w.record(schema.CautionData{Caution: id, State: schema.CautionNA, Why: w.marked(why)})
			})
		}})
	w.to(m)
}

// closePoint closes a hold point, or says what it still wants.
func (w *Work) closePoint(id string) {
	p, _ := w.at.Assessment.Car.Book.Point(id)
	do := func(second string) {
		if found := w.bench.Refused(id, second); len(found) > 0 {
			w.home()
			w.told, w.found = w.say("stays.locked", id), found
			return
		}
		w.record(schema.HoldPointData{Point: id, Action: schema.ClosePoint, Second: second, Rests: checklist.Rests(w.at.Assessment, id), Late: w.late()})
	}
	if p.Two {
		w.pickSecond(do, func() { do("") })
		return
	}
	do("")
}

// confirm lets the second person sign what another wrote. Who is at the screen
// hands it to them first.
func (w *Work) confirm(t checklist.Task) {
	seen := schema.ConfirmData{Entry: t.ID}
	if t.For(w.at.Assessment.Car, w.at.Who.ID) {
		w.record(seen)
		return
	}
	w.pickPerson(w.say("who.confirms"), func(p desk.Person) {
		w.hand(p)
		if w.problem == "" {
			w.record(seen)
		}
	})
}

// anyReading offers every reading there is.
func (w *Work) anyReading() {
	m := menu{title: w.say("which.reading")}
	for _, t := range schema.Readings {
		m.items = append(m.items, item{t.Name + ": " + t.Title, func() { w.read(t.Name) }})
	}
	w.to(m)
}

// wrong is what can be wrong: with the car, or with what was written.
func wrong(w *Work) menu {
	t, _, ok := w.task()
	m := menu{title: w.say("wrong.title"), items: []item{
		{w.say("wrong.leak"), func() { w.leak("leak seen") }},
		{w.say("wrong.smell"), func() { w.leak("smell of fuel") }},
		{w.say("wrong.spill"), func() { w.read("spill") }},
		{w.say("wrong.entry"), func() { w.pickEntry(w.takeBack) }},
		{w.say("wrong.car"), func() { w.pickEntry(w.moveAway) }},
	}}
	if ok && t.Do == checklist.DoStep {
		m.items = append(m.items, item{w.say("wrong.step", t.ID), func() {
			w.ask(w.say("why.not.here"), func(why string) { w.record(schema.StepData{Step: t.ID, State: schema.StepNA, Why: why}) })
		}}, item{w.say("wrong.begun", t.ID), func() { w.record(schema.StepData{Step: t.ID, State: schema.StepStarted}) }})
	}
	m.items = append(m.items, item{w.say("wrong.note"), func() {
		w.ask(w.say("wrong.note"), func(text string) { w.record(schema.NoteData{Text: w.marked(text)}) })
	}})
	return m
}

func (w *Work) leak(seen string) {
	w.pickJoint(w.say("where"), func(joint string) {
		w.record(schema.CautionData{Caution: "K20", State: schema.CautionSeen, Where: joint, Proof: seen + ", " + first(w.at.Who.Name, w.at.Who.ID)})
	})
}
