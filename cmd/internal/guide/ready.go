package guide

import (
	"fmt"

	"feedproof/checklist"
	"feedproof/cmd/internal/facts"
	"feedproof/schema"
)

// ready shows the one next thing and the three actions.
type ready struct{}

func (ready) instant(*Work) bool { return true }

// Of what the last act changed, so many findings are shown.
const shownFindings = 2

func (ready) middle(w *Work) []Line {
	var lines []Line
	if w.told != "" {
		lines = append(lines, Line{Spans: []Span{{Text: " " + w.told}}, Hang: 1})
		said, waiting := checklist.Parted(w.found)
		for i, f := range said {
			if i == shownFindings {
				lines = append(lines, Text(" "+w.say("more.findings", len(said)-i)))
				break
			}
			lines = append(lines, w.finding(f)...)
		}
		if len(waiting) > 0 {
			lines = append(lines, Toned(" "+w.say("waiting", len(waiting)), Faint))
		}
		lines = append(lines, Line{})
	}
	return append(lines, w.nextThing()...)
}

// nextThing says what is to be done, with the limit it is held to.
func (w *Work) nextThing() []Line {
	t, i, ok := w.task()
	if !ok {
		return []Line{Toned(" "+w.say("all.done"), Strong)}
	}
	count := w.say("of", i+1, len(w.tasks))
	head := w.say("do."+string(t.Do), t.ID)
	lines := []Line{
		{Spans: []Span{{Text: " " + head + " ", Tone: Info}, {Text: "  " + joined("  ", count, w.pointOf(t)), Tone: Faint}}, Hang: 3},
		{},
	}
	for _, text := range w.wording(t) {
		lines = append(lines, Line{Spans: []Span{{Text: "   " + text}}, Hang: 3})
	}
	return lines
}

func (w *Work) pointOf(t checklist.Task) string {
	if t.Point == "" {
		return ""
	}
	return w.say("for.point", t.Point, t.Name)
}

// wording is what is to be done in words, and the limits of it.
func (w *Work) wording(t checklist.Task) []string {
	book := w.at.Assessment.Car.Book
	switch t.Do {
	case checklist.DoVisit:
		return []string{w.say("no.visit")}
	case checklist.DoRead:
		test, _ := schema.FindReading(t.ID)
		texts := []string{fmt.Sprintf("%s: %s", test.Name, test.Title)}
		if step, ok := book.Step(t.Step); ok {
			texts = append(texts, step.Text, step.Accept)
		}
		return append(notEmpty(texts), w.limits(t.ID)...)
	case checklist.DoStep:
		step, _ := book.Step(t.ID)
		return notEmpty([]string{step.Text, w.labelled("accept", step.Accept), w.labelled("who", string(step.Who))})
	case checklist.DoProve:
		k, _ := book.Caution(t.ID)
		return notEmpty([]string{k.Hazard + ". " + k.Do, w.labelled("proof", k.Proof), w.labelled("lasts", k.Lasts)})
	case checklist.DoClose:
		p, _ := book.Point(t.ID)
		return []string{p.Name, w.say("locks", p.Before)}
	case checklist.DoConfirm:
		return []string{w.say("confirm.what", joined(" ", t.Point, t.Step), first(t.Who, w.say("another")))}
	}
	return notEmpty([]string{t.Finding.About + ": " + t.Finding.Measured, w.labelled("limit.is", t.Finding.Limit), t.Finding.Means, w.say("next", w.plainly(t.Finding.Next))})
}

func (w *Work) labelled(key, text string) string {
	if text == "" {
		return ""
	}
	return w.say(key, text)
}

// limits says what a reading is held to, and what it was last time.
func (w *Work) limits(test string) []string {
	var out []string
	for _, f := range checklist.About(w.at.Assessment, test) {
		if f.Limit != "" {
			out = append(out, fmt.Sprintf("%s: %s", f.About, w.say("limit", f.Limit)))
		}
	}
	if len(out) > shownLimits {
		out = out[:shownLimits]
	}
	if before, ok := w.lastTime(test); ok {
		out = append(out, w.say("last.time", before))
	}
	return out
}

const shownLimits = 3

// lastTime is the reading of this test that came before, in any visit.
func (w *Work) lastTime(test string) (string, bool) {
	readings := w.at.Assessment.Car.Readings
	for i := len(readings) - 1; i >= 0; i-- {
		if r := readings[i]; r.Data.Test == test {
			return facts.Reading(r.Data) + ", " + r.Entry.At.Local().Format("2006-01-02 15:04"), true
		}
	}
	return "", false
}

func notEmpty(texts []string) []string {
	var out []string
	for _, t := range texts {
		if t != "" {
			out = append(out, t)
		}
	}
	return out
}

// keys are the three actions, big, and the rest below.
func (ready) keys(w *Work) []Line {
	undo := ""
	if w.undoable() {
		undo = w.say("key.undo", int(w.slip.until.Sub(w.now()).Seconds()))
	}
	return []Line{
		{Spans: []Span{
			{Text: "  1 " + w.say("key.record") + "  ", Tone: Typed}, {Text: "   "},
			{Text: "  2 " + w.say("key.wrong") + "  ", Tone: Typed}, {Text: "   "},
			{Text: "  3 " + w.say("key.hand") + "  ", Tone: Typed},
		}},
		Text(" " + joined("  ", "4 "+w.say("key.why"), undo, "6 "+w.say("key.car"), "7 "+w.say("key.person"), "8 "+w.say("key.other"), "9 "+w.say("key.card"), "0 "+w.say("key.leave"))),
	}
}

func (ready) take(w *Work, answer string) {
	w.problem = ""
	switch answer {
	case "1":
		w.act()
	case "2":
		w.to(wrong(w))
	case "3":
		w.to(handOver(w))
	case "4":
		w.to(why(w))
	case "5":
		w.undo()
	case "6":
		w.pickCar()
	case "7":
		w.pickPerson(w.say("who.works"), w.hand)
	case "8":
		w.to(others(w))
	case "9":
		w.to(card(w))
	case "0":
		w.left = true
	case "":
		w.told, w.found = "", nil
	default:
		w.problem = w.say("no.key", answer)
	}
}

// act records the next thing.
func (w *Work) act() {
	t, _, ok := w.task()
	if !ok {
		w.to(others(w))
		return
	}
	switch t.Do {
	case checklist.DoRead:
		w.read(t.ID)
	case checklist.DoStep:
		w.step(t.ID, schema.StepData{Step: t.ID, State: schema.StepDone})
	case checklist.DoProve:
		w.prove(t.ID)
	case checklist.DoClose:
		w.closePoint(t.ID)
	case checklist.DoConfirm:
		w.confirm(t)
	case checklist.DoSee:
		w.ask(w.say("why.stands"), func(why string) {
			w.record(t.Finding.Acknowledged(why))
		})
	default:
		w.to(others(w))
	}
}

// why is the page behind what is on the screen: the heaviest finding that the
// last act changed, else the next thing.
func why(w *Work) reader {
	id := ""
	if f, ok := w.mode.(*form); ok {
		id = f.test.Name
	}
	for _, f := range w.found {
		if id == "" && f.Severity >= schema.Flag {
			id = f.Rule
		}
	}
	if t, _, ok := w.task(); ok && id == "" {
		id = t.ID
		if t.Finding != nil {
			id = t.Finding.Rule
		}
	}
	text, ok := checklist.Explain(id)
	if !ok {
		text = w.say("no.page", id)
	}
	return reader{text}
}
