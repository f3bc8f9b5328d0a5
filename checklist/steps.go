package checklist

import (
	"slices"

	"feedproof/checklist/procedures"
	"feedproof/checklist/state"
	"feedproof/schema"
)

// Step is a step that applies to the visit, with its state.
type Step struct {
	procedures.Step
	State schema.StepState // empty: not begun
	Done  bool             // done, or not applicable with a reason, or its reading is there
	By    string
	Entry string // of a step of two persons that waits for the other: what is to be confirmed
	Other string // who was named as the other
}

func steps(c *state.Car) []Step {
	var out []Step
	todo := c.Todo()
	if c.Looking() {
		todo = c.Book.After()
	}
	for _, s := range todo {
		if p, _ := c.Book.Point(s.Point); !c.Applies(s.When) || c.Looking() && !lookedAt(c, p) {
			continue
		}
		out = append(out, stepState(c, s))
	}
	return out
}

func stepState(c *state.Car, s procedures.Step) Step {
	step := Step{Step: s}
	var done schema.Entry
	for _, e := range c.Steps {
		if e.Data.Step == s.ID && c.InVisit(e.Entry) && !anew(c, s, e.Entry) {
			step.State, step.By, step.Other, done = e.Data.State, e.Entry.By, e.Data.Second, e.Entry
		}
	}
	step.Done = step.State == schema.StepDone || step.State == schema.StepNA
	if s.Test != "" && !step.Done {
		if r, ok := freshReading(c, s.Point, s.Test); ok {
			step.Done, step.By, step.Other, done = true, r.Entry.By, r.Data.Second, r.Entry
		}
	}
	if step.Done && s.Two && step.State != schema.StepNA && !Alone(c, step.By) {
		step.awaits(c, done)
	}
	return step
}

// awaits keeps a step of two persons open until the other has confirmed it.
func (s *Step) awaits(c *state.Car, done schema.Entry) {
	if _, confirmed := c.Confirmed(done); !confirmed {
		s.Done, s.Entry = false, done.ID
	}
}

// anew reports that an opening after a step asks for the step again: any, when
// it is done once the last joint is closed; one after a leak test, when it is
// done before a joint is opened.
func anew(c *state.Car, s procedures.Step, e schema.Entry) bool {
	o, opened := c.OpenedAfter(e)
	switch {
	case !opened || s.Again == procedures.Once || s.Opens != procedures.OpensNothing:
		return false
	case s.Again == procedures.AfterOpening:
		return true
	}
	return slices.ContainsFunc(c.All("leak"), func(r state.Reading) bool {
		return c.Between(r.Entry, e, o.Entry)
	})
}

// freshReading finds the last reading of a test that still counts for a hold
// point: later than what re-opened it, and than the point it follows. Without
// a point any reading of the visit counts.
func freshReading(c *state.Car, point, test string) (state.Reading, bool) {
	r, ok := c.Last(test)
	p, known := c.Book.Point(point)
	return r, ok && (!known || countsFor(c, p, r))
}

// countsFor reports that a reading still counts for a hold point.
func countsFor(c *state.Car, p procedures.Point, r state.Reading) bool {
	if p.After != "" {
		before, known := c.Book.Point(p.After)
		if !known || !slices.ContainsFunc(closings(c, p.After), func(closing state.PointEntry) bool { return stoodAt(c, before, closing, r.Entry) }) {
			return false
		}
	}
	if p.AfterLeave && (len(c.SignOffs) == 0 || schema.Order(r.Entry, c.SignOffs[len(c.SignOffs)-1].Entry) < 0) {
		return false
	}
	if _, changed := c.ChangedAfter(r.Entry, p.Reopens...); changed {
		return false
	}
	_, opened := c.OpenedAfter(r.Entry)
	return !opened || r.Data.Test != "leak" || !slices.Contains(p.Reopens, "opening")
}

// stoodAt reports that a closing was there when something was done, and that no
// joint was opened in between.
func stoodAt(c *state.Car, p procedures.Point, closing state.PointEntry, done schema.Entry) bool {
	opened := slices.ContainsFunc(c.Openings, func(o state.Opening) bool { return surelyBetween(o.Entry, closing.Entry, done) })
	return schema.Order(closing.Entry, done) < 0 && (!opened || !slices.Contains(p.Reopens, "opening"))
}
