package checklist

import (
	"fmt"
	"regexp"
	"slices"
	"strings"

	"feedproof/checklist/state"
	"feedproof/schema"
)

// Doing is what sort of thing there is to do.
type Doing string

// Doings.
const (
	DoVisit   Doing = "open a visit"
	DoRead    Doing = "read"    // ID is the test
	DoStep    Doing = "step"    // ID is the step
	DoProve   Doing = "prove"   // ID is the caution
	DoFix     Doing = "fix"     // ID is the rule
	DoClose   Doing = "close"   // ID is the hold point
	DoConfirm Doing = "confirm" // ID is the entry that a second person confirms
	DoSee     Doing = "answer"  // a finding that a lead acknowledges or waives
)

// Task is one thing that is to be done next.
type Task struct {
	Do      Doing
	ID      string
	Point   string          // the hold point that waits for it
	Name    string          // of that point
	Step    string          // the step it belongs to, when it is a reading
	Text    string          // in words
	Who     string          // who is to confirm; empty for anybody else
	Finding *schema.Finding // what asks for it, if a finding does
}

// Tasks lists what is to be done, in order: what stops the work, then what each
// hold point waits for, then what the lead answers. It is empty when only the
// sign-off is left.
func Tasks(a Assessment) []Task {
	if a.Car.Visit == nil {
		return []Task{{Do: DoVisit}}
	}
	var out []Task
	for _, f := range a.Findings {
		if f.Severity >= schema.Block && f.Answered == "" {
			out = append(out, answering(a.Car, f, ""))
		}
	}
	for _, p := range a.Points {
		if p.Release && !a.Car.Looking() || p.State == PointClosed {
			continue
		}
		template, _ := a.Car.Book.Point(p.ID)
		waits := wants(a.Car, template, a)
		switch {
		case len(waits) == 0 && p.Awaits != "":
			waits = []Task{{Do: DoConfirm, ID: p.Closing, Point: p.ID, Who: p.Awaits}}
		case len(waits) == 0:
			waits = []Task{{Do: DoClose, ID: p.ID, Point: p.ID}}
		}
		for i := range waits {
			waits[i].Name = p.Name
		}
		out = append(out, fresh(out, waits)...)
	}
	for _, f := range a.Findings {
		if f.Severity >= schema.Flag && f.Severity < schema.Block && f.Answered == "" && !asked(out, f) {
			t := answering(a.Car, f, "")
			if t.Do == DoFix && f.Severity == schema.Flag {
				t.Do = DoSee
			}
			out = append(out, fresh(out, []Task{t})...)
		}
	}
	return out
}

// fresh leaves out what is on the list already, or is the same thing for
// another reason.
func fresh(list, more []Task) []Task {
	var out []Task
	for _, t := range more {
		same := func(o Task) bool { return o.Do == t.Do && o.ID == t.ID && t.Do != DoFix && t.Do != DoSee }
		if !slices.ContainsFunc(list, same) && !slices.ContainsFunc(out, same) {
			out = append(out, t)
		}
	}
	return out
}

// For reports that a task is for this person: to be recorded, and by somebody
// in their role. What stops the work now is for everybody.
func (t Task) For(c *state.Car, person string) bool {
	switch t.Do {
	case DoFix:
		return t.Finding.Severity >= schema.Stop
	case DoSee:
		return c.IsLead(person)
	case DoConfirm:
		e, there := c.Record.Entry(t.ID)
		return there && person != e.By && (t.Who == "" || person == t.Who)
	case DoClose:
		p, ok := c.Book.Point(t.ID)
		return ok && roleTrouble(c, person, p.Who) == ""
	}
	return true
}

func asked(tasks []Task, f schema.Finding) bool {
	return slices.ContainsFunc(tasks, func(t Task) bool { return t.Finding != nil && t.Finding.Key() == f.Key() })
}

// command is how a finding names the command that answers it.
var command = regexp.MustCompile(`feedproof (read|caution) CAR ("[^"]+"|[A-Za-z0-9-]+)`)

// Confirmations are what waits to be confirmed by somebody: closings of hold
// points and steps of two persons.
func Confirmations(a Assessment, person string) []Task {
	return slices.DeleteFunc(Tasks(a), func(t Task) bool { return t.Do != DoConfirm || !t.For(a.Car, person) })
}

// answering is the task that answers a finding: the reading or caution that its
// next check names, else the check itself.
func answering(c *state.Car, f schema.Finding, point string) Task {
	t := Task{Do: DoFix, ID: f.Rule, Point: point, Text: f.About + ": " + f.Next, Finding: &f}
	m := command.FindStringSubmatch(f.Next)
	if m == nil {
		return t
	}
	id := strings.Trim(m[2], `"`)
	if _, ok := schema.FindReading(id); ok && m[1] == "read" {
		t.Do, t.ID = DoRead, id
	}
	if _, ok := c.Book.Caution(id); ok && m[1] == "caution" {
		t.Do, t.ID = DoProve, id
	}
	return t
}

// wanted says what a hold point wants.
func (t Task) wanted() string {
	switch {
	case t.Finding != nil:
		return said(*t.Finding)
	case t.Do == DoConfirm && t.Step != "":
		return fmt.Sprintf("step %s: %s confirms it: feedproof confirm CAR", t.Step, first(t.Who, "another person"))
	case t.Do == DoConfirm:
		return first(t.Who, "another person") + " confirms it: feedproof confirm CAR"
	case t.Do == DoStep:
		return fmt.Sprintf("step %s: %s", t.ID, t.Text)
	case t.Step != "":
		return fmt.Sprintf("reading: %s (step %s)", t.ID, t.Step)
	}
	return "reading: " + t.ID
}

// Say is the task in one line.
func (t Task) Say() string {
	switch {
	case t.Do == DoVisit:
		return "open a visit: feedproof visit open CAR --kind a,b"
	case t.Finding != nil && t.Point == "":
		return t.Finding.About + ": " + t.Finding.Next
	case t.Do == DoClose:
		return fmt.Sprintf("close %s (%s)", t.ID, t.Name)
	}
	return fmt.Sprintf("%s (%s): %s", t.Point, t.Name, t.wanted())
}

// About lists the findings that speak of a reading: those that judge its last
// entry of the visit, and those whose next check is to take it.
func About(a Assessment, test string) []schema.Finding {
	last, read := a.Car.Last(test)
	return slices.DeleteFunc(slices.Clone(a.Findings), func(f schema.Finding) bool {
		rests := read && slices.Contains(f.Entries, last.Entry.ID)
		m := command.FindStringSubmatch(f.Next)
		return !rests && (m == nil || strings.Trim(m[2], `"`) != test)
	})
}
