package guide

import (
	"fmt"
	"strings"

	"feedproof/checklist"
	"feedproof/cmd/internal/desk"
)

// menu is a list of numbered choices; Enter or 0 goes back. A long one comes a
// page at a time, so that one digit is always enough.
type menu struct {
	title string
	lines []Line // above the choices
	items []item
	back  func() // what 0 and Enter do; nil goes home
	none  string // what 0 says; empty: back
	from  int    // the first item of this page
}

type item struct {
	text string
	do   func()
}

// One digit names so many choices; of a longer list a page has one less, and
// the last digit turns it.
const (
	mostChoices = 9
	pageChoices = 8
	turnPage    = "9"
)

func (menu) instant(*Work) bool { return true }

func (m menu) long() bool { return len(m.items) > mostChoices }

// page is the choices that are shown.
func (m menu) page() []item {
	if !m.long() {
		return m.items
	}
	return m.items[m.from:min(m.from+pageChoices, len(m.items))]
}

// turned is the next page, after the last one the first.
func (m menu) turned() menu {
	m.from += pageChoices
	if m.from >= len(m.items) {
		m.from = 0
	}
	return m
}

func (m menu) middle(w *Work) []Line {
	lines := append([]Line{{Spans: []Span{{Text: " " + m.title, Tone: Strong}}, Hang: 1}, {}}, m.lines...)
	for i, it := range m.page() {
		lines = append(lines, choice(fmt.Sprint(i+1), it.text))
	}
	if m.long() {
		lines = append(lines, choice(turnPage, w.say("more.items", m.from+1, m.from+len(m.page()), len(m.items))))
	}
	return lines
}

func choice(key, text string) Line {
	key = "  " + key + "  "
	return Line{Spans: []Span{{Text: key, Tone: Strong}, {Text: text}}, Hang: len(key), Pick: true}
}

func (m menu) keys(w *Work) []Line {
	return []Line{Text(" " + w.say("pick")), Text(" 0 " + first(m.none, w.say("key.back")))}
}

func (m menu) take(w *Work, answer string) {
	i := picked(strings.TrimSpace(answer), len(m.page()))
	switch {
	case answer == "" || answer == "0":
		if m.back == nil {
			w.home()
			return
		}
		m.back()
	case m.long() && answer == turnPage:
		w.to(m.turned())
	case i < 0:
		w.problem = w.say("no.key", answer)
	default:
		w.problem = ""
		m.page()[i].do()
	}
}

// typing takes words.
type typing struct {
	title string
	done  func(string)
	empty func() // what Enter alone does; nil goes home
	leave string // what that is called; empty: back
}

func (typing) instant(*Work) bool { return false }

func (t typing) middle(w *Work) []Line {
	return []Line{Toned(" "+t.title, Strong), {}, {Spans: []Span{{Text: " > " + w.typed + "_ ", Tone: Typed}}, Hang: 3}}
}

func (t typing) keys(w *Work) []Line {
	return []Line{Text(" " + w.say("type.enter")), Text(" " + first(t.leave, w.say("type.empty")))}
}

func (t typing) take(w *Work, answer string) {
	w.problem = ""
	switch answer = strings.TrimSpace(answer); {
	case answer != "":
		t.done(answer)
	case t.empty != nil:
		t.empty()
	default:
		w.home()
	}
}

// ask asks for words.
func (w *Work) ask(title string, done func(string)) { w.to(typing{title: title, done: done}) }

// reader shows a page.
type reader struct{ text string }

func (reader) instant(*Work) bool { return true }

func (reader) middle(*Work) []Line { return nil }

func (reader) keys(w *Work) []Line {
	return []Line{Text(" " + w.say("page.keys"))}
}

// The page scrolls so many lines at once.
const pageful = 8

func (reader) take(w *Work, answer string) {
	switch answer {
	case "2":
		w.scroll += pageful
	case "8":
		w.scroll = max(w.scroll-pageful, 0)
	default:
		w.arriveBack()
	}
}

// arriveBack goes from a page to where the person was: a reading that was begun
// is not lost.
func (w *Work) arriveBack() {
	w.to(ready{})
	if f, ok := resumed(w, w.bench.Place()); ok {
		w.to(f)
	}
}

// card is what to do in an emergency.
func card(w *Work) reader { return reader{w.say("card")} }

// pickCar offers the cars that are in the shop.
func (w *Work) pickCar() {
	cars, err := w.bench.Cars()
	if err != nil {
		w.problem = err.Error()
		return
	}
	m := menu{title: w.say("which.car")}
	for _, c := range cars {
		m.items = append(m.items, item{joined("  ", first(c.Plate, c.Name), vinEnd(c.VIN), both(c.Name, c.Plate), c.Words), func() { w.turn(c.ID) }})
	}
	w.to(m)
}

// turn goes to another car. What was typed on this one stays with it.
func (w *Work) turn(id string) {
	err := w.bench.Turn(id)
	if err == nil {
		w.told, w.found, w.slip = "", nil, slip{}
		w.to(ready{})
		err = w.arrive()
	}
	if err != nil {
		w.problem = err.Error()
	}
}

// pickPerson offers the people of the shop.
func (w *Work) pickPerson(title string, do func(desk.Person)) {
	people, err := w.bench.People()
	if err != nil {
		w.problem = err.Error()
		return
	}
	m := menu{title: title}
	for _, p := range people {
		m.items = append(m.items, item{p.ID + "  " + p.Name, func() { do(p) }})
	}
	w.to(m)
}

// hand gives the work to somebody else.
func (w *Work) hand(p desk.Person) {
	if err := w.bench.Hand(p.ID); err != nil {
		w.problem = err.Error()
		return
	}
	w.slip = slip{}
	if err := w.arrive(); err != nil {
		w.problem = err.Error()
	}
}

// others offers everything that is to be done: only physical locks force an order.
func others(w *Work) menu {
	m := menu{title: w.say("other.title")}
	for _, t := range w.tasks {
		if t.Do == checklist.DoFix || t.Do == checklist.DoVisit {
			continue
		}
		m.items = append(m.items, item{joined("  ", t.Point, w.say("do."+string(t.Do), t.ID), short(w.wording(t)[:1])), func() { w.choose(keyOf(t)) }})
	}
	m.items = append(m.items, item{w.say("any.reading"), w.anyReading})
	return m
}

func (w *Work) choose(key string) {
	w.chosen, w.told, w.found = key, "", nil
	w.home()
}

// shownWords is how much of a task a list shows.
const shownWords = 44

func short(texts []string) string {
	text := strings.Join(texts, " ")
	runes := []rune(text)
	if len(runes) <= shownWords {
		return text
	}
	return strings.TrimSpace(string(runes[:shownWords])) + "…"
}
