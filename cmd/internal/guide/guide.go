// Package guide is the guided mode: one car, one next thing, the number it
// needs beside its limits. It decides what is shown and what a key does.
//
// Start with [New] and hand the [Work] to a screen. It reads and writes
// through a [Bench] alone, so that every page and every key can be tested
// without a terminal or a shop. A fact is on the disk before the page changes;
// what was typed of a reading is kept with it, so that after a power cut the
// person is where he was. Number keys and Enter are enough. What is
// deliberately absent: any unit that was not shown, and any order of work that
// is not a physical lock.
package guide

import (
	"slices"
	"time"

	"feedproof/checklist"
	"feedproof/cmd/internal/desk"
	"feedproof/cmd/internal/facts"
	"feedproof/cmd/internal/language"
	"feedproof/schema"
)

// Bench is the shop as the guide sees it.
type Bench interface {
	// Stand is how the car stands now, who works on it and where.
	Stand() (desk.Stand, error)
	// Record writes a fact about the car, as it was at a moment; it is durable
	// on return.
	Record(at time.Time, d schema.Data) (schema.Entry, error)
	// Move writes an entry into the record of the car it belongs to, and gives
	// the entry that takes it back here.
	Move(e schema.Entry, to, why string) (schema.Entry, error)
	// Refused lists what keeps a hold point from being closed.
	Refused(point, second string) []schema.Finding
	// Cars lists the cars that are in the shop.
	Cars() ([]desk.Tag, error)
	// Turn goes to another car.
	Turn(id string) error
	// People lists who may work here.
	People() ([]desk.Person, error)
	// Hand gives the work to another person.
	Hand(id string) error
	// Gauges lists the instruments that read a value.
	Gauges(schema.ReadingValue) ([]desk.Instrument, error)
	// Place is where this bay was with the car, and Keep keeps it.
	Place() desk.Place
	Keep(desk.Place) error
	// Habits are what the person is used to, and Learn keeps them.
	Habits() desk.Habits
	Learn(desk.Habits) error
}

// Work is the guide.
type Work struct {
	bench  Bench
	now    func() time.Time
	words  language.Words
	habits desk.Habits

	at     desk.Stand
	tasks  []checklist.Task
	chosen string // a task that was picked instead of the first

	mode   mode
	typed  string
	scroll int

	told    string           // what the last act did
	found   []schema.Finding // what it changed
	problem string           // what was wrong with the last answer
	slip    slip
	paper   string // the sheet that is typed in, when it is
	left    bool
}

// mode is what the person is at: the next thing, a reading, a list, a page.
type mode interface {
	middle(*Work) []Line
	keys(*Work) []Line
	choices(*Work) []Choice
	wanted(*Work) *Asks
	instant(*Work) bool // a digit is a whole answer
	take(*Work, string) // an answer
}

// slip is the last act, while it can be taken back as a slip of the finger.
type slip struct {
	entry schema.Entry
	until time.Time
}

// A slip is taken back within this; later it is a correction with its reason.
const slipTime = 60 * time.Second

// New begins where this bay was with the car. A paper sheet's number marks what
// is typed as coming from paper.
func New(b Bench, now func() time.Time, paper string) (*Work, error) {
	w := &Work{bench: b, now: now, paper: paper}
	if err := w.arrive(); err != nil {
		return nil, err
	}
	return w, nil
}

// arrive looks at the car and goes back to where it was left.
func (w *Work) arrive() error {
	w.habits = w.bench.Habits()
	w.words = language.In(w.habits.Language)
	if err := w.look(); err != nil {
		return err
	}
	w.mode = ready{}
	place := w.bench.Place()
	w.chosen = place.Task
	if e, ok := w.at.Assessment.Car.Record.Entry(place.Slip); ok {
		w.slip = slip{e, place.Until}
	}
	if f, ok := resumed(w, place); ok {
		w.mode = f
	}
	return nil
}

// Look judges the car anew: others may have written.
func (w *Work) Look() error { return w.look() }

// look judges the car anew.
func (w *Work) look() error {
	at, err := w.bench.Stand()
	if err != nil {
		return err
	}
	w.at, w.tasks = at, checklist.Tasks(at.Assessment)
	return nil
}

// say is a text of the person's language.
func (w *Work) say(key string, args ...any) string { return w.words.Say(key, args...) }

// task is the one next thing: what was picked, else the first that this person
// can do.
func (w *Work) task() (checklist.Task, int, bool) {
	for _, is := range []func(checklist.Task) bool{
		func(t checklist.Task) bool { return w.chosen != "" && keyOf(t) == w.chosen },
		func(t checklist.Task) bool { return t.For(w.at.Assessment.Car, w.at.Who.ID) },
	} {
		if i := slices.IndexFunc(w.tasks, is); i >= 0 {
			return w.tasks[i], i, true
		}
	}
	if len(w.tasks) == 0 {
		return checklist.Task{}, 0, false
	}
	return w.tasks[0], 0, true
}

func keyOf(t checklist.Task) string { return string(t.Do) + " " + t.ID + " " + t.Point }

// home goes back to the next thing and keeps that this is the place.
func (w *Work) home() {
	w.mode, w.typed, w.scroll = ready{}, "", 0
	w.keep(desk.Place{Task: w.chosen})
}

// keep keeps the place, and the slip that can still be taken back.
func (w *Work) keep(p desk.Place) {
	if w.undoable() {
		p.Slip, p.Until = w.slip.entry.ID, w.slip.until
	}
	if err := w.bench.Keep(p); err != nil {
		w.problem = err.Error()
	}
}

// to goes to another mode.
func (w *Work) to(m mode) { w.mode, w.typed, w.scroll, w.problem = m, "", 0, "" }

// record writes a fact, says what it changed and goes on to the next thing.
func (w *Work) record(d schema.Data) {
	if w.paper != "" && d.EntryKind() != "correct" {
		w.to(w.askTime(d))
		return
	}
	w.recordAt(w.now(), d)
}

func (w *Work) recordAt(at time.Time, d schema.Data) {
	w.write(func() (schema.Entry, error) { return w.bench.Record(at, d) })
}

func (w *Work) write(write func() (schema.Entry, error)) {
	before := w.at.Assessment.Findings
	_, at, _ := w.task()
	e, err := write()
	if err == nil {
		err = w.look()
	}
	if err != nil {
		w.problem = err.Error()
		w.mode = ready{}
		return
	}
	w.problem, w.chosen = "", w.following(at)
	w.told = w.say("told", e.Counter, facts.Fact(e))
	w.found = checklist.Changed(before, w.at.Assessment.Findings)
	w.slip = slip{e, w.now().Add(slipTime)}
	w.home()
}

// following is what comes after a picked task: whoever picked one goes on from
// there.
func (w *Work) following(at int) string {
	if w.chosen == "" || at >= len(w.tasks) {
		return ""
	}
	return keyOf(w.tasks[at])
}

// undo takes the last act back as a slip, while it is one.
func (w *Work) undo() {
	e := w.slip.entry
	if !w.undoable() {
		w.problem = w.say("undo.late")
		return
	}
	w.record(schema.CorrectData{Entry: e.ID, Action: schema.Void, Why: "slip, taken back at once"})
	w.slip = slip{}
	w.told = w.say("undo.done", e.Counter, facts.Fact(e))
}

func (w *Work) undoable() bool { return w.slip.entry.ID != "" && w.now().Before(w.slip.until) }

// Scrolled keeps how far down the page could be shown.
func (w *Work) Scrolled(line int) { w.scroll = line }

// Left reports that the person is done here.
func (w *Work) Left() bool { return w.left }

// Key is one key.
func (w *Work) Key(key string) {
	switch instant := w.mode.instant(w); {
	case key == "f1" || key == "e" && w.shortKeys():
		w.to(card(w))
	case key == "?" && w.shortKeys():
		w.to(why(w))
	case key == "up":
		w.scroll = max(w.scroll-1, 0)
	case key == "down":
		w.scroll++
	case key == "esc":
		w.home()
	case key == "enter":
		answer := w.typed
		w.typed = ""
		w.mode.take(w, answer)
	case key == "backspace":
		if r := []rune(w.typed); len(r) > 0 {
			w.typed = string(r[:len(r)-1])
		}
	case instant && isDigit(key):
		w.mode.take(w, key)
	case !instant && len([]rune(key)) == 1:
		w.typed += key
	}
}

// shortKeys reports that letters are not part of an answer.
func (w *Work) shortKeys() bool {
	_, words := w.mode.(typing)
	return !words && w.typed == ""
}

// Line is a whole answer in one.
func (w *Work) Line(answer string) {
	switch {
	case answer == "e" && w.shortKeys():
		w.to(card(w))
	case answer == "?" && w.shortKeys():
		w.to(why(w))
	default:
		w.mode.take(w, answer)
	}
}

func isDigit(key string) bool { return len(key) == 1 && key[0] >= '0' && key[0] <= '9' }

// Show is the page as it stands.
func (w *Work) Show() Page {
	s := Page{
		Title:  w.at.Car.Plate + " " + w.at.Car.Name,
		Top:    w.top(),
		Banner: w.fuel(),
		Middle: w.mode.middle(w),
		Bottom: slices.Concat([]Line{{Rule: true}}, w.mode.keys(w)),
		Scroll: w.scroll, More: w.say("more.below"),
		Choices: w.mode.choices(w), Asks: w.mode.wanted(w),
	}
	if p, ok := w.mode.(reader); ok {
		s.Markdown = p.text
	}
	if w.problem != "" {
		s.Middle = append(s.Middle, Line{}, Line{Spans: []Span{{Text: " ! " + w.problem + " ", Tone: Careful}}, Hang: 3})
	}
	return s
}
