// Package audit answers the questions that an auditor asks of a whole shop,
// Q01 to Q28, one of which finds records by words.
//
// Start with [Find] and [Question.Ask]. Each question is one file that
// registers its name, its arguments and its page: how it is answered. Answers
// come from the committed records alone and are pure: the same records, the
// same moment, the same answer. Every row names the record and the entries it
// rests on. What is deliberately absent: storage; a [Source] hands over
// records and the facts that [Gather] made of them.
package audit

import (
	"bytes"
	"cmp"
	"fmt"
	"math"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"sync"
	"sync/atomic"
	"time"

	"feedproof/schema"
)

// Source is the shop as a question sees it.
type Source interface {
	// Facts hands over a table that Gather made, record by record, leaving out
	// records that have nothing in it.
	Facts(kind schema.RecordKind, table string, visit func(record string, facts []byte) error) error
	// Record is a record as committed. Several may be read at once.
	Record(kind schema.RecordKind, id string) (schema.Record, error)
	// IDs lists the records of a kind.
	IDs(kind schema.RecordKind) ([]string, error)
	// Shop is what rules may know beside a vehicle's record.
	Shop() (schema.Shop, error)
	// Told are the entries of a record, in order, each in a line.
	Told(r schema.Record) []string
}

// Question is one that an auditor asks.
type Question struct {
	ID    string // Q01
	Name  string // as typed
	Title string // the question
	Args  []Arg
	How   string // how it is answered
	Needs string // what the record must hold for a row to appear, and what a missing row does not prove
	ask   func(*asking) error
}

// Arg is an argument of a question.
type Arg struct {
	Name     string // CAR, LOT, YEARS
	What     string
	Kind     ArgKind
	Optional bool
}

// ArgKind says how an argument is read.
type ArgKind int

// Kinds of argument.
const (
	Text   ArgKind = iota
	Car            // the id of a vehicle record; the caller has found it by name
	Number         // of the unit that What says
	Words          // all that is left
	Moment         // all that is left: RFC 3339, as the caller has made it of a time, or words that the question knows
)

// Column is a column of an answer. Its name says the unit of its numbers.
type Column struct {
	Name  string
	About string // for the page and the data dictionary
}

// Row is a line of an answer: text, numbers and yes or no in the order of the
// columns, and where it comes from.
type Row struct {
	Kind    schema.RecordKind
	Record  string
	Entries []string
	Cells   []any
}

// Answer is what a question found.
type Answer struct {
	Question Question
	Args     []string
	At       time.Time
	Columns  []Column
	Rows     []Row
	Notes    []string // what must be known beside the rows
}

var questions []Question

// register adds a question. It returns it so that a file can do so in a
// declaration.
func register(q Question, ask func(*asking) error) Question {
	q.ask = ask
	questions = append(questions, q)
	return q
}

// All lists the questions by id.
func All() []Question {
	all := slices.Clone(questions)
	slices.SortFunc(all, func(a, b Question) int { return cmp.Compare(a.ID, b.ID) })
	return all
}

// Find finds a question by name or id, in any case; Q4 is Q04.
func Find(name string) (Question, bool) {
	for _, q := range questions {
		if strings.EqualFold(q.ID, name) || strings.EqualFold(strings.Replace(q.ID, "Q0", "Q", 1), name) || strings.EqualFold(q.Name, name) {
			return q, true
		}
	}
	return Question{}, false
}

// Usage is how the question is typed.
func (q Question) Usage() string {
	text := q.Name
	for _, a := range q.Args {
		if a.Optional {
			text += " [" + a.Name + "]"
		} else {
			text += " " + a.Name
		}
	}
	return text
}

// Page is the question's page of the manual, as Markdown.
func (q Question) Page() string {
	var b strings.Builder
	fmt.Fprintf(&b, "# %s: %s\n\n%s\n\n- Ask: `feedproof ask %s`\n", q.ID, q.Name, q.Title, q.Usage())
	for _, a := range q.Args {
		fmt.Fprintf(&b, "- %s: %s\n", a.Name, a.What)
	}
	fmt.Fprintf(&b, "\n## How it is answered\n\n%s\n", q.How)
	if q.Needs != "" {
		fmt.Fprintf(&b, "\n## What it does not show\n\n%s\n", q.Needs)
	}
	b.WriteString("\nOnly committed records count; drafts are not asked. Every row names its record and entries: `feedproof ask find` with what it says it comes from shows them. It states facts; what follows from them is for the lead, local codes and makers' instructions.\n")
	return b.String()
}

// UsageError says what is wrong with the arguments.
type UsageError struct {
	Question Question
	Wrong    string
}

func (e *UsageError) Error() string { return e.Question.Name + ": " + e.Wrong }

// Ask answers the question at a moment.
//
// Errors: *[UsageError] for arguments that do not fit; what the source cannot
// read.
func (q Question) Ask(src Source, args []string, now time.Time) (Answer, error) {
	a := &asking{Source: src, now: now.UTC(), args: map[string]string{}}
	a.answer = Answer{Question: q, Args: args, At: a.now, Rows: []Row{}}
	left := args
	for _, arg := range q.Args {
		switch {
		case len(left) == 0 && !arg.Optional:
			return a.answer, &UsageError{q, arg.Name + " is missing: " + arg.What}
		case len(left) == 0:
		case arg.Kind == Words || arg.Kind == Moment:
			a.args[arg.Name], left = strings.Join(left, " "), nil
		default:
			a.args[arg.Name], left = left[0], left[1:]
		}
	}
	if len(left) > 0 {
		return a.answer, &UsageError{q, fmt.Sprintf("%q is one argument too many", left[0])}
	}
	err := q.ask(a)
	return a.answer, err
}

// asking is one question being answered.
type asking struct {
	Source
	now    time.Time
	args   map[string]string
	answer Answer
	cars   map[string][]byte  // the table of cars
	known  map[string]carFact // those of it that were asked for
}

// columns names the columns; "name: about" each.
func (a *asking) columns(names ...string) {
	for _, n := range names {
		name, about, _ := strings.Cut(n, ": ")
		a.answer.Columns = append(a.answer.Columns, Column{name, about})
	}
}

func (a *asking) note(format string, args ...any) {
	a.answer.Notes = append(a.answer.Notes, fmt.Sprintf(format, args...))
}

// row adds a row about a vehicle; its first two cells are the car's name and
// plate.
func (a *asking) row(record string, entries []string, cells ...any) error {
	f, err := a.car(record)
	if err != nil {
		return err
	}
	a.add(schema.VehicleRecord, record, entries, append([]any{f.Name, f.Plate}, cells...)...)
	return nil
}

// carColumns are the first columns of rows about vehicles.
var carColumns = []string{"car: what the shop calls it", "plate: number plate"}

func (a *asking) carColumns(more ...string) { a.columns(append(slices.Clone(carColumns), more...)...) }

func (a *asking) add(kind schema.RecordKind, record string, entries []string, cells ...any) {
	entries = slices.DeleteFunc(slices.Clone(entries), func(e string) bool { return e == "" })
	a.answer.Rows = append(a.answer.Rows, Row{kind, record, entries, cells})
}

// car is what a vehicle is.
func (a *asking) car(record string) (carFact, error) {
	if a.cars == nil {
		a.cars, a.known = map[string][]byte{}, map[string]carFact{}
		err := tableCars.read(a, func(id string, facts []byte) error { a.cars[id] = facts; return nil })
		if err != nil {
			return carFact{}, err
		}
	}
	if f, asked := a.known[record]; asked {
		return f, nil
	}
	b := a.cars[record]
	if b == nil {
		return carFact{}, nil
	}
	rows, err := decode[carFact](b)
	if err != nil || len(rows) == 0 {
		return carFact{}, err
	}
	a.known[record] = rows[0]
	return rows[0], nil
}

// atOnce is how many records are decoded before they are looked at.
const atOnce = 1024

// each reads a table, decoding only records whose facts contain a text.
func each[T any](a *asking, t table[T], containing string, visit func(record string, rows []T) error) error {
	type gathered struct {
		record string
		facts  []byte
	}
	var waiting []gathered
	look := func() error {
		decoded, err := onAll(waiting, func(g gathered) ([]T, error) {
			rows, err := decode[T](g.facts)
			if err != nil {
				err = fmt.Errorf("%s: %w", g.record, err)
			}
			return rows, err
		})
		for i := 0; err == nil && i < len(decoded); i++ {
			err = visit(waiting[i].record, decoded[i])
		}
		waiting = waiting[:0]
		return err
	}
	err := t.read(a, func(record string, facts []byte) error {
		if containing != "" && !bytes.Contains(facts, []byte(containing)) {
			return nil
		}
		if waiting = append(waiting, gathered{record, facts}); len(waiting) < atOnce {
			return nil
		}
		return look()
	})
	if err != nil {
		return err
	}
	return look()
}

// onAll makes something of each item, on all processors, in the order of the
// items; or the first error.
func onAll[T, R any](items []T, f func(T) (R, error)) ([]R, error) {
	made, errs := make([]R, len(items)), make([]error, len(items))
	var next atomic.Int64
	var all sync.WaitGroup
	for range runtime.GOMAXPROCS(0) {
		all.Go(func() {
			for i := next.Add(1) - 1; i < int64(len(items)); i = next.Add(1) - 1 {
				made[i], errs[i] = f(items[i])
			}
		})
	}
	all.Wait()
	return made, cmp.Or(errs...)
}

// parts are all part records by id.
func (a *asking) parts() (map[string]partFact, error) {
	all := map[string]partFact{}
	err := each(a, tableParts, "", func(id string, rows []partFact) error { all[id] = rows[0]; return nil })
	return all, err
}

// sortRows orders rows by the text of their cells from a column on, so that an
// answer is the same every time.
func (a *asking) sortRows(columns ...int) {
	slices.SortStableFunc(a.answer.Rows, func(x, y Row) int {
		for _, c := range columns {
			if d := compareCells(x.Cells[c], y.Cells[c]); d != 0 {
				return d
			}
		}
		return cmp.Or(cmp.Compare(x.Record, y.Record), slices.Compare(x.Entries, y.Entries))
	})
}

func compareCells(x, y any) int {
	switch a := x.(type) {
	case string:
		if b, ok := y.(string); ok {
			return strings.Compare(a, b)
		}
	case int:
		if b, ok := y.(int); ok {
			return cmp.Compare(a, b)
		}
	case float64:
		if b, ok := y.(float64); ok {
			return cmp.Compare(a, b)
		}
	}
	return strings.Compare(fmt.Sprint(x), fmt.Sprint(y))
}

// date is a day as it stands in a cell.
func date(t time.Time) string { return t.UTC().Format(time.DateOnly) }

// minute is a time as it stands in a cell, RFC 3339.
func minute(t time.Time) string { return t.UTC().Format(time.RFC3339) }

// orBlank is a number, or nothing.
func orBlank(x *float64) any {
	if x == nil {
		return ""
	}
	return *x
}

// number reads an argument that is a number, or takes what stands for it.
func (a *asking) number(name string, without float64) (float64, error) {
	text := a.args[name]
	if text == "" {
		return without, nil
	}
	x, err := strconv.ParseFloat(text, 64)
	if err != nil || !(x >= 0 && x <= math.MaxInt32) {
		return 0, &UsageError{a.answer.Question, fmt.Sprintf("%s: %q is not a number, 0 or more", name, strings.TrimSpace(text))}
	}
	return x, nil
}

// rounded has so many decimals and no noise behind them.
func rounded(x float64, decimals int) float64 {
	p := math.Pow(10, float64(decimals))
	return math.Round(x*p) / p
}

// joinWords is a list as one cell.
func joinWords(list []string) string { return strings.Join(list, " ") }

// cellText is a number as text with no more decimals than it needs.
func cellText(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }
