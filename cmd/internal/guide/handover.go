package guide

import (
	"feedproof/checklist"
	"feedproof/cmd/internal/desk"
	"feedproof/cmd/internal/facts"
	"feedproof/schema"
)

// handOver shows what the next person must know, and gives the work away.
func handOver(w *Work) menu {
	m := menu{title: w.say("hand.title"), lines: append(w.Shift(), Line{}), none: w.say("hand.not")}
	m.items = []item{{w.say("hand.over"), func() { w.pickPerson(w.say("who.takes"), w.giveAway) }}}
	return m
}

// Shift is the state of the car for whoever takes over: what is open, off or
// out; what is not answered; what was begun and not finished.
func (w *Work) Shift() []Line {
	s := checklist.HandOver(w.at.Assessment)
	var lines []Line
	for _, text := range s.Physical {
		lines = append(lines, Line{Spans: []Span{{Text: " ▲ " + text + " ", Tone: Careful}}, Hang: 3})
	}
	if len(s.Physical) == 0 {
		lines = append(lines, Toned(" ● "+w.say("hand.closed")+" ", Good))
	}
	for _, begun := range s.Begun {
		lines = append(lines, Line{Spans: []Span{{Text: "   " + w.say("hand.begun", begun)}}, Hang: 5})
	}
	if p := w.bench.Place(); p.Test != "" {
		lines = append(lines, Text("   "+w.say("hand.reading", p.Test, len(p.Given))))
	}
	for i, f := range s.Unanswered {
		if i == shownUnanswered {
			lines = append(lines, Text("   "+w.say("more.findings", len(s.Unanswered)-i)))
			break
		}
		lines = append(lines, Line{Spans: []Span{
			{Text: " " + facts.Shape(f.Severity) + " " + w.say("severity."+f.Severity.String()) + " ", Tone: ToneOf(f.Severity)},
			{Text: "  " + f.About + ": " + f.Measured}}, Hang: 5})
	}
	if s.Waiting > 0 {
		lines = append(lines, Text("   "+w.say("waiting", s.Waiting)))
	}
	if t, _, ok := w.task(); ok {
		lines = append(lines, Line{Spans: []Span{{Text: "   " + w.say("next", w.say("do."+string(t.Do), t.ID)+": "+short(w.wording(t)))}}, Hang: 5})
	}
	return lines
}

const shownUnanswered = 5

// giveAway writes down what was handed over and to whom, and gives the work to
// that person.
func (w *Work) giveAway(to desk.Person) {
	w.record(schema.NoteData{Text: checklist.HandOver(w.at.Assessment).Note(w.at.Who.ID, to.ID)})
	if w.problem == "" {
		told := w.told
		w.hand(to)
		w.told = told
	}
}
