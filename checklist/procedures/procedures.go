// Package procedures holds the shipped checklists as data: job kinds with
// their steps, the step blocks they share, hold points and cautions. Adding
// one is adding JSON under data/; no Go changes.
//
// Start with [Load], which returns the whole [Book], and [Book.For], which
// unites the steps of a visit's job kinds. What is deliberately absent is
// judgement of readings: that is package rules.
package procedures

import (
	"bytes"
	"embed"
	"encoding/json"
	"fmt"
	"io/fs"
	"path"
	"slices"
	"sync"

	"feedproof/schema"
)

//go:embed data
var data embed.FS

// Book is everything that is shipped.
type Book struct {
	Jobs     []Job
	Blocks   []Block
	Points   []Point
	Cautions []Caution
	Faults   []Fault

	steps map[string]Step // of all jobs and blocks, by id
}

// Job is one kind of job: its own steps and the blocks it shares.
type Job struct {
	Kind     schema.JobKind `json:"kind"`
	Title    string         `json:"title"`
	Choose   string         `json:"choose_when"`
	Avoid    string         `json:"avoid_when,omitempty"`
	Done     string         `json:"done_means"` // what the lead signs
	Misses   []string       `json:"typical_misses,omitempty"`
	Blocks   []string       `json:"blocks"`
	Cautions []string       `json:"cautions,omitempty"` // beyond those that always apply
	Steps    []Step         `json:"steps"`
}

// Block is a run of steps that several jobs share.
type Block struct {
	ID    string `json:"id"`
	Title string `json:"title"`
	Steps []Step `json:"steps"`
}

// Step is one line of a checklist.
type Step struct {
	ID     string      `json:"id"`
	Text   string      `json:"text"`
	Accept string      `json:"accept,omitempty"` // what is recorded, beside its limit
	Who    schema.Role `json:"who"`
	Opens  Opening     `json:"opens,omitempty"`
	Point  string      `json:"point,omitempty"` // the hold point that waits for it
	Test   string      `json:"test,omitempty"`  // the reading that does it
	Two    bool        `json:"two_persons,omitempty"`
	Again  Repeat      `json:"each_opening,omitempty"` // repeated for each opening
	When   []Condition `json:"when,omitempty"`         // all must hold; unknown counts as holding
	Source string      `json:"source"`                 // a source, "common practice", "shop policy" or "from memory"
}

// Repeat says on which side of an opening a step is done anew.
type Repeat string

// Repeats.
const (
	Once         Repeat = ""
	BeforeEach   Repeat = "before" // for each run of openings, since the last leak test
	AfterOpening Repeat = "after"  // once the last joint is closed
)

// Opening says what a step opens.
type Opening string

// Openings.
const (
	OpensNothing  Opening = ""
	OpensFuel     Opening = "fuel"        // a joint, cap-off transfer or flange without pressure
	OpensPressure Opening = "pressurised" // rail, feed, filter, regulator
	OpensTankCut  Opening = "tank cut"    // drilling, sawing or welding on a tank
)

// Point is a hold point: a lock on the next physical act.
type Point struct {
	ID         string      `json:"id"`
	Name       string      `json:"name"`
	Before     string      `json:"before"` // the physical act it locks
	Who        schema.Role `json:"who"`
	Two        bool        `json:"two_persons,omitempty"`
	NeverLate  bool        `json:"never_late,omitempty"` // cannot be closed after the act
	Guards     Act         `json:"guards,omitempty"`     // the recorded act it must come before
	Rules      []string    `json:"rules,omitempty"`      // rules that must find nothing at UNPROVEN or above
	OfPlan     bool        `json:"of_plan,omitempty"`    // they judge the plan's parts, whatever is fitted
	Alone      bool        `json:"alone,omitempty"`      // where nobody else works, one person may make the second check, delayed
	Tests      []string    `json:"tests,omitempty"`      // readings that must exist since the last change
	Reopens    []string    `json:"reopens,omitempty"`    // events that re-open it: opening, or a fitted position
	After      string      `json:"after,omitempty"`      // its evidence counts once this point was closed
	When       []Condition `json:"when,omitempty"`
	AtRelease  bool        `json:"at_release,omitempty"`    // closed by the sign-off itself
	AfterLeave bool        `json:"after_release,omitempty"` // belongs to the time after
	Source     string      `json:"source"`
}

// Act is a physical act that shows in the record.
type Act string

// Acts that hold points guard.
const (
	ActOpening Act = "opening" // a fuel joint is opened
	ActCut     Act = "cut"     // a tank is drilled, sawn or welded
	ActStart   Act = "start"   // the engine runs
)

// Caution is a hazard with the proof it asks for.
type Caution struct {
	ID     string      `json:"id"`
	Hazard string      `json:"hazard"`
	When   []Condition `json:"when"` // all must hold; none: always, when fuel is opened
	Do     string      `json:"do"`
	Proof  string      `json:"proof"`
	Needs  Proof       `json:"needs"`           // what the record must hold
	Lasts  string      `json:"lasts,omitempty"` // how long the proof holds
	Again  Again       `json:"again,omitempty"` // when a later opening asks for it again
	Waive  string      `json:"waive,omitempty"` // who may; empty: nobody ever
	Source string      `json:"source"`
}

// Again says when the answer to a caution no longer holds for an opening.
type Again string

// When an answer is asked for again.
const (
	AgainNever   Again = ""
	AgainShift   Again = "shift"   // a joint was opened in a later shift
	AgainOpening Again = "opening" // a joint was opened after it
)

// Proof is the least that answers a caution in the record.
type Proof struct {
	Level   int    `json:"level"`             // 1 instrument: the reading itself, words do not do .. 5 tick by a named person
	Test    string `json:"test,omitempty"`    // the reading it rests on
	Rule    string `json:"rule,omitempty"`    // the rule that judges it
	Persons int    `json:"persons,omitempty"` // how many people the answer names, with who gave it
}

// Condition is a predicate on the job's data: see package state for the fields.
type Condition struct {
	Field string `json:"field"`
	Is    string `json:"is,omitempty"`   // word
	Over  string `json:"over,omitempty"` // quantity as written
}

// Load reads the shipped book. It is read once; the program's own data cannot
// be wrong at run time, so an error is a defect that the tests catch.
var Load = sync.OnceValues(load)

func load() (Book, error) {
	var book Book
	err := fs.WalkDir(data, "data", func(name string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		return book.read(name)
	})
	book.steps = map[string]Step{}
	for _, s := range book.All() {
		book.steps[s.ID] = s
	}
	return book, err
}

func (b *Book) read(name string) error {
	switch path.Base(path.Dir(name)) {
	case "jobs":
		return appendFrom(&b.Jobs, name)
	case "blocks":
		return appendFrom(&b.Blocks, name)
	case "points":
		return appendFrom(&b.Points, name)
	case "cautions":
		return appendFrom(&b.Cautions, name)
	case "faults":
		return appendFrom(&b.Faults, name)
	}
	return fmt.Errorf("%s: not in a known folder", name)
}

func appendFrom[T any](list *[]T, name string) error {
	text, err := data.ReadFile(name)
	if err != nil {
		return err
	}
	dec := json.NewDecoder(bytes.NewReader(text))
	dec.DisallowUnknownFields()
	var one T
	if err := dec.Decode(&one); err != nil {
		return fmt.Errorf("%s: %w", name, err)
	}
	*list = append(*list, one)
	return nil
}

// Step finds a step by id in any job or block.
func (b Book) Step(id string) (Step, bool) {
	s, ok := b.steps[id]
	return s, ok
}

func (b Book) lists() [][]Step {
	var out [][]Step
	for _, block := range b.Blocks {
		out = append(out, block.Steps)
	}
	for _, job := range b.Jobs {
		out = append(out, job.Steps)
	}
	return out
}

// Point finds a hold point by id.
func (b Book) Point(id string) (Point, bool) {
	for _, p := range b.Points {
		if p.ID == id {
			return p, true
		}
	}
	return Point{}, false
}

// Caution finds a caution by id.
func (b Book) Caution(id string) (Caution, bool) {
	for _, c := range b.Cautions {
		if c.ID == id {
			return c, true
		}
	}
	return Caution{}, false
}

// For unites the steps of the job kinds: each shared block once, in the order
// of the blocks, then the steps of each job.
func (b Book) For(kinds []schema.JobKind) []Step {
	var steps []Step
	for _, block := range b.Blocks {
		if slices.ContainsFunc(b.Jobs, func(j Job) bool {
			return slices.Contains(kinds, j.Kind) && slices.Contains(j.Blocks, block.ID)
		}) {
			steps = append(steps, block.Steps...)
		}
	}
	for _, job := range b.Jobs {
		if slices.Contains(kinds, job.Kind) {
			steps = append(steps, job.Steps...)
		}
	}
	return steps
}

// After lists the steps of the points that belong to the time after a release.
func (b Book) After() []Step {
	return slices.DeleteFunc(b.All(), func(s Step) bool {
		p, ok := b.Point(s.Point)
		return !ok || !p.AfterLeave
	})
}

// All lists every step of every block and job.
func (b Book) All() []Step {
	var out []Step
	for _, steps := range b.lists() {
		out = append(out, steps...)
	}
	return out
}
