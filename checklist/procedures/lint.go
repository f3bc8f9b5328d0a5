package procedures

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"feedproof/schema"
	"feedproof/schema/quantity"
)

// Waivers are the words a caution's waiver may begin with, before a colon and
// what bounds it. None at all means that nobody may ever waive it.
var Waivers = []string{"lead", "lead + owner", "lead + inspector"}

// Openable are the events that may re-open a hold point: a joint opened, a new
// plan, or a fitting or removal in one of these positions.
var Openable = []string{"opening", "plan", "pump", "injectors", "regulator", "filter", "wiring", "tank", "module"}

// Lint lists what is wrong with a book: ids that are double or name nothing,
// conditions that no record can answer, hold points that nothing leads to,
// texts that are missing. The rules are the ids that exist. Nothing wrong
// gives nothing.
func Lint(b Book, rules []string) []string {
	l := linter{book: b, rules: rules}
	l.ids()
	l.jobs()
	for _, steps := range b.lists() {
		for _, s := range steps {
			l.step(s)
		}
	}
	for _, p := range b.Points {
		l.point(p)
	}
	for _, c := range b.Cautions {
		l.caution(c)
	}
	for _, f := range b.Faults {
		l.fault(f)
	}
	l.reached()
	l.shared()
	return l.problems
}

type linter struct {
	book     Book
	rules    []string
	problems []string
}

func (l *linter) say(where, format string, args ...any) {
	l.problems = append(l.problems, where+": "+fmt.Sprintf(format, args...))
}

// ids looks for ids used twice, of whatever sort: `explain` finds a page by its
// id alone.
func (l *linter) ids() {
	count := map[string]int{}
	for _, id := range l.allIDs() {
		count[id]++
		if id == "" {
			l.say("book", "something has no id")
		} else if count[id] == 2 {
			l.say(id, "the id is used twice")
		}
	}
}

func (l *linter) allIDs() []string {
	var ids []string
	for _, steps := range l.book.lists() {
		for _, s := range steps {
			ids = append(ids, s.ID)
		}
	}
	for _, block := range l.book.Blocks {
		ids = append(ids, block.ID)
	}
	for _, job := range l.book.Jobs {
		ids = append(ids, string(job.Kind))
	}
	for _, p := range l.book.Points {
		ids = append(ids, p.ID)
	}
	for _, c := range l.book.Cautions {
		ids = append(ids, c.ID)
	}
	for _, f := range l.book.Faults {
		ids = append(ids, f.ID)
	}
	return ids
}

// signatures are those that a log can show. Their tests are in datalog.
const signatures = 17

func (l *linter) fault(f Fault) {
	where := "fault " + f.ID
	l.texts(where, "symptom", f.Symptom, "next", f.Next, "source", f.Source)
	if len(f.Causes) == 0 {
		l.say(where, "has no cause")
	}
	signs := slices.Concat(f.Shows, f.Also, f.Without)
	for _, c := range f.Causes {
		l.texts(where, "cause", c.Text)
		signs = append(signs, c.Shown...)
	}
	for _, s := range signs {
		id, _ := s.Parts()
		if n, err := strconv.Atoi(strings.TrimPrefix(id, "S")); !strings.HasPrefix(id, "S") || err != nil || n < 1 || n > signatures {
			l.rule(where, id)
		}
	}
	if len(f.Shows) == 0 && len(f.Also)+len(f.Without)+len(f.Over) > 0 {
		l.say(where, "nothing shows it, so nothing else can matter")
	}
	for _, id := range f.Over {
		if other, ok := l.book.Fault(id); !ok || slices.Contains(other.Over, f.ID) {
			l.say(where, "explains better than %q, which does not exist or says the same of it", id)
		}
	}
}

func (l *linter) jobs() {
	for _, kind := range schema.JobKind("").Values() {
		if !slices.ContainsFunc(l.book.Jobs, func(j Job) bool { return string(j.Kind) == kind }) {
			l.say("job "+kind, "there is none")
		}
	}
	for _, j := range l.book.Jobs {
		where := "job " + string(j.Kind)
		l.texts(where, "title", j.Title, "choose_when", j.Choose, "done_means", j.Done)
		for _, id := range j.Blocks {
			if !slices.ContainsFunc(l.book.Blocks, func(b Block) bool { return b.ID == id }) {
				l.say(where, "block %q does not exist", id)
			}
		}
		for _, id := range j.Cautions {
			if _, ok := l.book.Caution(id); !ok {
				l.say(where, "caution %q does not exist", id)
			}
		}
	}
}

func (l *linter) step(s Step) {
	where := "step " + s.ID
	l.texts(where, "text", s.Text, "who", string(s.Who), "source", s.Source)
	l.role(where, s.Who)
	l.conditions(where, s.When)
	if _, ok := l.book.Point(s.Point); !ok && s.Point != "" {
		l.say(where, "hold point %q does not exist", s.Point)
	}
	l.test(where, s.Test)
	if !slices.Contains([]Opening{OpensNothing, OpensFuel, OpensPressure, OpensTankCut}, s.Opens) {
		l.say(where, "opens %q, which is not an opening", s.Opens)
	}
	if !slices.Contains([]Repeat{Once, BeforeEach, AfterOpening}, s.Again) {
		l.say(where, "each_opening %q is neither before nor after", s.Again)
	}
	if s.Opens != OpensNothing && s.Test != "" {
		l.say(where, "a reading that does a step must not hide that it opens a joint")
	}
}

func (l *linter) point(p Point) {
	where := "hold point " + p.ID
	l.texts(where, "name", p.Name, "before", p.Before, "who", string(p.Who), "source", p.Source)
	l.role(where, p.Who)
	l.conditions(where, p.When)
	for _, test := range p.Tests {
		l.test(where, test)
	}
	for _, rule := range p.Rules {
		l.rule(where, rule)
	}
	for _, event := range p.Reopens {
		if !slices.Contains(Openable, event) {
			l.say(where, "%q does not re-open a hold point", event)
		}
	}
	if !slices.Contains([]Act{"", ActOpening, ActCut, ActStart}, p.Guards) {
		l.say(where, "guards %q, which is not an act", p.Guards)
	}
}

func (l *linter) caution(c Caution) {
	where := "caution " + c.ID
	l.texts(where, "hazard", c.Hazard, "do", c.Do, "proof", c.Proof, "source", c.Source)
	l.conditions(where, c.When)
	if c.Needs.Level < 1 || c.Needs.Level > 5 {
		l.say(where, "proof level %d is not 1 to 5", c.Needs.Level)
	}
	if c.Needs.Level == 1 && c.Needs.Test == "" {
		l.say(where, "proof level 1 is an instrument reading, and none is named")
	}
	if !slices.Contains([]Again{AgainNever, AgainShift, AgainOpening}, c.Again) {
		l.say(where, "again %q is neither shift nor opening", c.Again)
	}
	l.test(where, c.Needs.Test)
	if c.Needs.Rule != "" {
		l.rule(where, c.Needs.Rule)
	}
	if who, _, _ := strings.Cut(c.Waive, ":"); c.Waive != "" && !slices.Contains(Waivers, who) {
		l.say(where, "waiver %q does not begin with one of: %s", c.Waive, strings.Join(Waivers, "; "))
	}
}

func (l *linter) texts(where string, pairs ...string) {
	for i := 0; i < len(pairs); i += 2 {
		if strings.TrimSpace(pairs[i+1]) == "" {
			l.say(where, "%s is missing", pairs[i])
		}
	}
}

func (l *linter) role(where string, r schema.Role) {
	if r != "" && !slices.Contains(r.Values(), string(r)) {
		l.say(where, "%q is not a role", r)
	}
}

func (l *linter) test(where, name string) {
	if _, ok := schema.FindReading(name); !ok && name != "" {
		l.say(where, "%q is not a reading", name)
	}
}

func (l *linter) rule(where, id string) {
	if !slices.Contains(l.rules, id) {
		l.say(where, "rule %q does not exist", id)
	}
}

func (l *linter) conditions(where string, when []Condition) {
	for _, c := range when {
		if why := c.trouble(); why != "" {
			l.say(where, "condition on %q: %s", c.Field, why)
		}
	}
}

// trouble says why no record could answer the condition.
func (c Condition) trouble() string {
	f, ok := FindField(c.Field)
	switch {
	case !ok:
		return "not a field"
	case f.Type == FieldQuantity:
		return c.quantityTrouble(f)
	case c.Over != "" || c.Is == "":
		return "a field of type " + string(f.Type) + " is compared by \"is\""
	case f.Type == FieldAnswer && c.Is != string(schema.Yes) && c.Is != string(schema.No):
		return fmt.Sprintf("%q is neither yes nor no", c.Is)
	case f.Type == FieldWord && !slices.Contains(f.Words, c.Is):
		return fmt.Sprintf("%q is not one of %s", c.Is, strings.Join(f.Words, ", "))
	}
	return ""
}

func (c Condition) quantityTrouble(f Field) string {
	if c.Is != "" || c.Over == "" {
		return "a quantity is compared by \"over\""
	}
	w, err := quantity.Read(c.Over)
	if err == nil {
		err = quantity.Check(w, f.Dimension)
	}
	if err != nil {
		return err.Error()
	}
	return ""
}

// reached looks for hold points that nothing leads to, for each kind of job: no
// reading, no rule, no step of that job, and not the sign-off itself.
func (l *linter) reached() {
	for _, j := range l.book.Jobs {
		steps := l.book.For([]schema.JobKind{j.Kind})
		for _, p := range l.book.Points {
			leads := p.AtRelease || len(p.Tests) > 0 || len(p.Rules) > 0 ||
				slices.ContainsFunc(steps, func(s Step) bool { return s.Point == p.ID })
			if !leads {
				l.say("hold point "+p.ID, "nothing leads to it in job %s", j.Kind)
			}
		}
	}
}

// shared looks for readings that would do steps of two hold points at once. The
// time after the release is apart: its readings belong to another visit.
func (l *linter) shared() {
	first := map[string]Step{}
	for _, steps := range l.book.lists() {
		for _, s := range steps {
			p, _ := l.book.Point(s.Point)
			if s.Test == "" || s.Point == "" || p.AfterLeave {
				continue
			}
			earlier, ok := first[s.Test]
			if ok && earlier.Point != s.Point {
				l.say("step "+s.ID, "its reading %q also does step %s, which is for %s and not %s", s.Test, earlier.ID, earlier.Point, s.Point)
			}
			if !ok {
				first[s.Test] = s
			}
		}
	}
}
