package page

import (
	"bytes"
	"cmp"
	"crypto/rand"
	"crypto/sha256"
	"encoding/json"
	"fmt"
	"net/http"
	"slices"
	"strings"

	"feedproof/checklist"
	"feedproof/cmd/internal/desk"
	"feedproof/cmd/internal/facts"
	"feedproof/cmd/internal/guide"
	"feedproof/cmd/internal/language"
	"feedproof/schema"
)

// view is what the templates are filled with.
type view struct {
	words   language.Words
	Who     string
	People  []desk.Person
	Problem string
	Cars    []row
	Car     *carView
	Card    string
}

// Lang is the language, as BCP 47 names it.
func (v view) Lang() string { return v.words.Code }

// T are the words around what the guide says.
func (v view) T() map[string]string {
	say := v.words.Say
	return map[string]string{
		"board": say("page.board"), "lock": say("page.lock"), "who": say("page.who"), "passphrase": say("page.passphrase"), "enter": say("page.enter"),
		"code": say("page.code"), "admit": say("page.admit"), "save": say("page.save"), "prove": say("page.prove"), "none": say("page.none"),
		"found": say("page.found"), "last": say("page.last"), "points": say("page.points"), "bay": say("page.bay"), "card": say("key.card"),
	}
}

// row is a car on the board; band is the state of its fuel.
type row struct {
	ID, Name, Next, Counts string
	Band                   band
}

// band is a state in a word and a shape, and the class that colours it.
type band struct{ Shape, Text, Class string }

func bandOf(st desk.Standing) band {
	b := band{"●", st.Seen(), "good"}
	switch st.Band {
	case checklist.BandStop:
		b.Shape, b.Class = "■", "bad"
	case checklist.BandOpen:
		b.Shape, b.Class = "▲", "careful"
	}
	return b
}

// rank puts the worst first.
func rank(st desk.Standing) int {
	switch st.Band {
	case checklist.BandStop:
		return 0
	case checklist.BandOpen:
		return 1
	}
	return 2
}

type carView struct {
	ID, Name, State, Form, Head, Text, Typed, Counts string
	Band                                             band
	Moved, Proved                                    bool
	Lines                                            []string
	Choices                                          []guide.Choice
	Asks                                             *guide.Asks
	Points                                           []checklist.Point
	Found                                            []finding
	Last                                             []string
}

type finding struct{ Shape, Severity, Text, Limit, Next string }

func (s *server) wordsOf(at *seat, r *http.Request) language.Words {
	if at.desk == nil {
		return spoken(r)
	}
	return language.In(at.desk.Habits(at.person.ID).Language)
}

// board shows the cars in the shop, the worst first.
func (s *server) board(w http.ResponseWriter, r *http.Request, at *seat) {
	if at.desk == nil {
		s.who(w, r, http.StatusOK, "")
		return
	}
	v := view{words: s.wordsOf(at, r), Who: at.person.Name}
	err := at.desk.Refresh()
	var cars []desk.Car
	if err == nil {
		cars, err = at.desk.Present()
	}
	type judged struct {
		desk.Standing
		id string
	}
	var all []judged
	for _, c := range cars {
		a, fault := at.desk.AssessAlone(c)
		if fault != nil {
			err = fault
			break
		}
		if a.Car.Visit != nil && !a.Car.Visit.Closed {
			all = append(all, judged{desk.Stands(c, a), c.ID})
		}
	}
	if err != nil {
		s.fail(w, err)
		return
	}
	slices.SortStableFunc(all, func(a, b judged) int {
		return cmp.Or(cmp.Compare(rank(a.Standing), rank(b.Standing)), cmp.Compare(b.Red, a.Red), cmp.Compare(b.Amber, a.Amber))
	})
	for _, st := range all {
		v.Cars = append(v.Cars, row{st.id, desk.Describe([]string{st.Vehicle, st.Plate}), st.Point, v.words.Say("page.counts", st.Red, st.Amber), bandOf(st.Standing)})
	}
	s.show(w, http.StatusOK, "board", v)
}

// who asks who is here.
func (s *server) who(w http.ResponseWriter, r *http.Request, status int, problem string) {
	d, err := s.Open("", nil)
	var people []desk.Person
	if err == nil {
		people, err = peopleOf(d)
	}
	if err != nil {
		s.fail(w, err)
		return
	}
	s.show(w, status, "who", view{words: spoken(r), People: people, Problem: problem})
}

func peopleOf(d *desk.Desk) ([]desk.Person, error) {
	roster, err := d.Roster()
	var out []desk.Person
	for _, m := range roster.Members() {
		if m.Active() {
			out = append(out, desk.Person{ID: m.Person, Name: m.Name})
		}
	}
	return out, err
}

// car shows a car and its next thing.
func (s *server) car(w http.ResponseWriter, r *http.Request, at *seat) { s.showCar(w, r, at, "") }

func (s *server) showCar(w http.ResponseWriter, r *http.Request, at *seat, typed string) {
	id, ok := s.carID(w, r, at)
	if !ok {
		return
	}
	c, a, err := standing(at.desk, id)
	var k *work
	if err == nil {
		k, err = s.workOf(at, id)
	}
	st := desk.Stands(c, a)
	if state := digest(st, a); err == nil && k.head != state {
		k.head, k.id = state, rand.Text()
		err = k.guide.Look()
	}
	if err != nil {
		s.fail(w, err)
		return
	}
	v := view{words: s.wordsOf(at, r), Who: at.person.Name}
	p := k.guide.Show()
	v.Car = &carView{
		ID: id, Name: desk.Describe([]string{c.Data.Name, c.Data.Plate}), Head: k.head, Form: k.id, Text: p.Markdown, Typed: typed,
		Band: bandOf(st), Counts: v.words.Say("page.counts", st.Red, st.Amber), Lines: linesOf(p), Choices: p.Choices, Asks: p.Asks, Points: a.Points,
	}
	if k.moved {
		v.Problem, k.moved = v.words.Say("page.moved"), false
	}
	if s.Now().Sub(at.proved) <= roleTime {
		v.Problem = v.words.Say("page.proved")
	}
	v.Car.tell(a, v.words)
	s.show(w, http.StatusOK, "car", v)
}

// Of a car's facts the last so many are shown.
const lastFacts = 5

// tell adds what is known of the car.
func (v *carView) tell(a checklist.Assessment, words language.Words) {
	for _, f := range a.Findings {
		if f.Severity >= schema.Flag && f.Answered == "" {
			v.Found = append(v.Found, finding{facts.Shape(f.Severity), words.Say("severity." + f.Severity.String()), f.About + ": " + f.Measured, f.Limit, f.Next})
		}
	}
	for _, e := range slices.Backward(a.Car.Standing()) {
		if len(v.Last) == lastFacts {
			break
		}
		v.Last = append(v.Last, fmt.Sprintf("#%d  %s  %s", e.Counter, e.By, facts.Fact(e)))
	}
}

// linesOf are the lines of the guide without those that stand for a choice or
// for the box in which is typed.
func linesOf(p guide.Page) []string {
	var out []string
	for _, l := range p.Middle {
		if l.Pick {
			continue
		}
		var text strings.Builder
		for _, s := range l.Spans {
			if s.Tone != guide.Typed {
				text.WriteString(s.Text + " ")
			}
		}
		if said := strings.TrimSpace(text.String()); said != "" && said != ">" {
			out = append(out, said)
		}
	}
	return out
}

// digest names a state of a car: another one is to be looked at.
func digest(st desk.Standing, a checklist.Assessment) string {
	text, _ := json.Marshal(st) // a plain struct of texts and numbers
	for _, e := range a.Car.Standing() {
		text = append(text, e.ID...)
	}
	return fmt.Sprintf("%x", sha256.Sum256(text))[:16]
}

// state answers how the car stands now: what feedproof board CAR --json says,
// with a name for it.
func (s *server) state(w http.ResponseWriter, r *http.Request, at *seat) {
	id, ok := s.carID(w, r, at)
	if !ok {
		return
	}
	c, a, err := standing(at.desk, id)
	if err != nil {
		s.fail(w, err)
		return
	}
	st := desk.Stands(c, a)
	b := bandOf(st)
	text, err := json.Marshal(struct {
		Head     string        `json:"head"`
		Band     string        `json:"band"`
		Class    string        `json:"class"`
		Standing desk.Standing `json:"standing"`
	}{digest(st, a), b.Shape + " " + b.Text, b.Class, st})
	if err != nil {
		s.fail(w, err)
		return
	}
	w.Header().Set("Content-Type", "application/json")
	_, _ = w.Write(text) // who is gone does not wait for it
}

// answer gives the guide one answer, if it is for what stands there now.
func (s *server) answer(w http.ResponseWriter, r *http.Request, at *seat) {
	if !form(w, r) {
		return
	}
	id, ok := s.carID(w, r, at)
	if !ok {
		return
	}
	k, err := s.workOf(at, id)
	if err != nil {
		s.fail(w, err)
		return
	}
	c, a, err := standing(at.desk, id)
	if err != nil {
		s.fail(w, err)
		return
	}
	answer := r.PostForm.Get("answer")
	if r.PostForm.Has("typed") && answer == "" && r.PostForm.Get("how") == "save" {
		answer = r.PostForm.Get("typed")
	}
	switch {
	case k.id != r.PostForm.Get("form"), k.head != digest(desk.Stands(c, a), a):
		k.moved = true
	default:
		k.guide.Line(answer)
		k.id = rand.Text()
	}
	if k.moved && answer != "" && r.PostForm.Get("how") == "save" {
		s.showCar(w, r, at, answer)
		return
	}
	http.Redirect(w, r, "/cars/"+id, http.StatusSeeOther)
}

// carID is the car that the address names, if it is one of the shop's.
func (s *server) carID(w http.ResponseWriter, r *http.Request, at *seat) (string, bool) {
	all, err := at.desk.Names()
	if err != nil {
		s.fail(w, err)
		return "", false
	}
	for _, n := range all {
		if n.ID == r.PathValue("car") {
			return n.ID, true
		}
	}
	http.Error(w, "no such car in this shop", http.StatusNotFound)
	return "", false
}

func (s *server) card(w http.ResponseWriter, r *http.Request) {
	words := spoken(r)
	s.show(w, http.StatusOK, "card", view{words: words, Card: words.Say("card")})
}

// show answers a page, whole or not at all.
func (s *server) show(w http.ResponseWriter, status int, name string, v view) {
	var text bytes.Buffer
	if err := pages.ExecuteTemplate(&text, name, v); err != nil {
		s.fail(w, err)
		return
	}
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.WriteHeader(status)
	_, _ = w.Write(text.Bytes()) // who is gone does not wait for it
}

// fail says what is wrong to a person, with what mends it.
func (s *server) fail(w http.ResponseWriter, err error) {
	e := desk.Explain(err)
	http.Error(w, desk.Joined(e.Wrong, e.Mend), http.StatusInternalServerError)
}
