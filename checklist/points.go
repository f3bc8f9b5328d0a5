package checklist

import (
	"slices"
	"strings"
	"time"

	"feedproof/checklist/procedures"
	"feedproof/checklist/rules"
	"feedproof/checklist/state"
	"feedproof/schema"
)

// PointState is how a hold point stands.
type PointState string

// Hold point states.
const (
	PointOpen      PointState = "open"       // the next act is locked
	PointClosed    PointState = "closed"     // proven
	PointReopened  PointState = "re-opened"  // something changed after it was closed
	PointNotProven PointState = "not proven" // the act was done before it was closed
)

// Point is a hold point that applies to the visit.
type Point struct {
	ID       string     `json:"id"`
	Name     string     `json:"name"`
	Before   string     `json:"before"`
	State    PointState `json:"state"`
	Why      string     `json:"why,omitempty"`     // of re-opened and not proven
	Missing  []string   `json:"missing,omitempty"` // what must be there before it closes
	ClosedBy string     `json:"closed_by,omitempty"`
	At       time.Time  `json:"at,omitzero"`
	Release  bool       `json:"release,omitempty"` // closed by the sign-off itself, or after it

	Closing string `json:"closing,omitempty"` // the entry that closed it, or that waits to be confirmed
	Awaits  string `json:"awaits,omitempty"`  // who is to confirm it
}

func points(c *state.Car, a Assessment) []Point {
	if c.Visit == nil {
		return nil
	}
	var out []Point
	for _, p := range c.Book.Points {
		if !c.Applies(p.When) || c.Looking() && !lookedAt(c, p) {
			continue
		}
		point := Point{ID: p.ID, Name: p.Name, Before: p.Before, Release: p.AtRelease || p.AfterLeave}.judged(c, p, a)
		if point.State != PointClosed {
			point.Missing = lacks(c, p, a)
		}
		out = append(out, point)
	}
	return out
}

// lookedAt reports the point that a visit of no job is for: the re-check, and
// the yearly check once that was done.
func lookedAt(c *state.Car, p procedures.Point) bool {
	return p.AfterLeave && (p.ID == "HP11") != c.Rechecked()
}

// judged is how the point stands: as the last of its closings that holds says,
// and where none does, as the last of them. A closing by somebody who had seen
// less takes nothing from one that holds.
func (p Point) judged(c *state.Car, template procedures.Point, a Assessment) Point {
	closings := closings(c, p.ID)
	if len(closings) == 0 {
		p.State, p.Why = withoutClosing(c, template)
		return p
	}
	var last Point
	for i, closing := range slices.Backward(closings) {
		by := p.by(c, template, closing, a)
		if by.State == PointClosed {
			return by
		}
		if i == len(closings)-1 {
			last = by
		}
	}
	return last
}

// by is how the point stands by one of its closings alone.
func (p Point) by(c *state.Car, template procedures.Point, closing state.PointEntry, a Assessment) Point {
	p.State, p.Why = stateOf(c, template, closing)
	if p.State == PointClosed {
		p.ClosedBy, p.At, p.Closing = closing.Entry.By, closing.Entry.At, closing.Entry.ID
		p.rejudge(c, template, closing, a)
	}
	return p
}

// rejudge re-opens a closed point when what it rests on no longer stands: a
// reading taken back, a gauge found bad, a rule that is no longer satisfied.
// What was shown before an opening cannot be shown again.
func (p *Point) rejudge(c *state.Car, template procedures.Point, closing state.PointEntry, a Assessment) {
	left, spoiled := standing(a, template, closing)
	again, why := PointReopened, lacks(left.Car, template, left)
	_, cut := firstOfLastRun(c, procedures.ActCut, surelyBetween)
	if template.Guards == procedures.ActOpening || template.Guards == procedures.ActCut && cut {
		again, why = PointNotProven, nil
		for _, f := range unsatisfied(template, left) {
			why = append(why, said(f))
		}
	}
	if len(why) > 0 && !strings.Contains(why[0], spoiled) {
		why[0] += "; " + spoiled
	}
	if test := closedWithout(c, template, closing); test != "" && template.NeverLate {
		again, why = PointNotProven, []string{"it was closed without a reading: " + test}
	}
	if trouble := secondTrouble(c, template, closing); trouble != "" {
		again, why = PointNotProven, []string{"one person closed it: " + trouble}
		if awaits(c, template, closing) != "" {
			again, p.Awaits, p.Closing = PointOpen, awaits(c, template, closing), closing.Entry.ID
		}
	}
	if len(why) > 0 {
		p.State, p.Why, p.ClosedBy, p.At = again, why[0], "", time.Time{}
	}
	if p.Awaits == "" && len(why) > 0 {
		p.Closing = ""
	}
}

// closedWithout names a reading that the point asks for and that nobody had
// taken when it was closed; empty when they were there.
func closedWithout(c *state.Car, p procedures.Point, closing state.PointEntry) string {
	for _, test := range p.Tests {
		if !slices.ContainsFunc(c.All(test), func(r state.Reading) bool { return schema.Order(c.First(r.Entry), closing.Entry) < 0 }) {
			return test
		}
	}
	return ""
}

// withoutClosing is how a point stands that nobody closed, or that was opened
// again in words.
func withoutClosing(c *state.Car, p procedures.Point) (PointState, string) {
	if p.Guards != "" {
		if why := actBefore(c, p, state.PointEntry{}, false); why != "" {
			return PointNotProven, why
		}
	}
	return PointOpen, ""
}

func stateOf(c *state.Car, p procedures.Point, closing state.PointEntry) (PointState, string) {
	if p.Guards != "" {
		if why := actBefore(c, p, closing, true); why != "" {
			return PointNotProven, why
		}
	}
	if why := reopened(c, p, closing); why != "" {
		return PointReopened, why
	}
	if p.NeverLate && closing.Data.Late != "" {
		return PointNotProven, "recorded late: " + closing.Data.Late
	}
	return PointClosed, ""
}

// closings are those of a point in this visit since it was last opened again in
// words.
func closings(c *state.Car, id string) []state.PointEntry {
	var out []state.PointEntry
	for _, e := range c.Points {
		switch {
		case e.Data.Point != id || !c.InVisit(e.Entry):
		case e.Data.Action == schema.ClosePoint:
			out = append(out, e)
		default:
			out = nil
		}
	}
	return out
}

func reopened(c *state.Car, p procedures.Point, closing state.PointEntry) string {
	if slices.Contains(p.Reopens, "opening") {
		if o, ok := c.OpenedAfter(closing.Entry); ok {
			return o.Joint + " " + o.What() + " after it"
		}
	}
	if ch, ok := c.ChangedAfter(closing.Entry, p.Reopens...); ok {
		return ch.Position + " changed after it"
	}
	return ""
}

// actBefore says that the act a point guards was done before the point was
// closed: it can then never be shown.
func actBefore(c *state.Car, p procedures.Point, closing state.PointEntry, closed bool) string {
	act, ok := firstOfLastRun(c, p.Guards, surelyBetween)
	if !ok {
		return ""
	}
	if p.Guards == procedures.ActOpening || p.Guards == procedures.ActCut {
		perhaps, _ := firstOfLastRun(c, p.Guards, c.Between)
		if closedBeforeAct(c, p.ID, act) && closedBeforeAct(c, p.ID, perhaps) {
			return ""
		}
		return "the " + string(p.Guards) + " came first"
	}
	if closed && schema.Order(closing.Entry, act) > 0 && reopened(c, p, closing) == "" && !closedSinceOpening(c, p.ID, act) {
		return "the engine ran before it was closed"
	}
	return ""
}

// closedSinceOpening looks for a closing between the last opening and the first
// start after it: what opened the point again since can be tested again.
func closedSinceOpening(c *state.Car, id string, start schema.Entry) bool {
	return slices.ContainsFunc(c.Points, func(e state.PointEntry) bool {
		opened := slices.ContainsFunc(typedOpenings(c), func(o state.Opening) bool { return schema.Order(o.Entry, e.Entry) > 0 })
		return e.Data.Point == id && e.Data.Action == schema.ClosePoint && e.Data.Late == "" && !opened && schema.Order(e.Entry, start) < 0
	})
}

// closedBeforeAct looks for a closing between the last leak test before the act
// and the act itself.
func closedBeforeAct(c *state.Car, id string, act schema.Entry) bool {
	for _, e := range c.Points {
		if e.Data.Point != id || e.Data.Action != schema.ClosePoint || e.Data.Late != "" || schema.Order(e.Entry, act) > 0 {
			continue
		}
		between := slices.ContainsFunc(c.All("leak"), func(r state.Reading) bool {
			return c.Between(r.Entry, e.Entry, act)
		})
		if !between && c.InVisit(e.Entry) {
			return true
		}
	}
	return false
}

func surelyBetween(e, from, to schema.Entry) bool {
	return schema.Order(e, from) > 0 && schema.Order(e, to) < 0
}

// firstOfLastRun is the first act since the system was last closed and tested:
// the first opening of the last run of openings, or the first start after the
// last opening. Whether a test stands between two openings is for the caller to
// say: surely, or perhaps.
func firstOfLastRun(c *state.Car, act procedures.Act, between func(e, from, to schema.Entry) bool) (schema.Entry, bool) {
	if act == procedures.ActStart {
		return firstStart(c)
	}
	openings := slices.DeleteFunc(c.VisitOpenings(), func(o state.Opening) bool { return act == procedures.ActCut && !o.HotOrCut })
	if len(openings) == 0 {
		return schema.Entry{}, false
	}
	last := openings[len(openings)-1].Entry
	first := last
	for i := len(openings) - 1; i >= 0; i-- {
		tested := slices.ContainsFunc(c.All("leak"), func(r state.Reading) bool { return between(r.Entry, openings[i].Entry, last) })
		if tested {
			break
		}
		first = openings[i].Entry
	}
	return first, true
}

// typedOpenings are those of the visit that somebody typed as such, if any: a
// part that goes in later does not make an engine's start before it unseen.
func typedOpenings(c *state.Car) []state.Opening {
	all := c.VisitOpenings()
	typed := slices.DeleteFunc(slices.Clone(all), func(o state.Opening) bool { return o.ByPart })
	if len(typed) == 0 {
		return all
	}
	return typed
}

func firstStart(c *state.Car) (schema.Entry, bool) {
	openings := typedOpenings(c)
	if len(openings) == 0 {
		return schema.Entry{}, false
	}
	last := openings[len(openings)-1].Entry
	for _, r := range c.Readings {
		if r.Kind().Starts && schema.Order(r.Entry, last) > 0 {
			return r.Entry, true
		}
	}
	return schema.Entry{}, false
}

// lacks lists in words what the point still needs.
func lacks(c *state.Car, p procedures.Point, a Assessment) []string {
	var missing []string
	for _, t := range wants(c, p, a) {
		missing = append(missing, t.wanted())
	}
	return missing
}

// wants lists what the point still needs: readings, steps and rules that are
// satisfied.
func wants(c *state.Car, p procedures.Point, a Assessment) []Task {
	var out []Task
	for _, test := range p.Tests {
		if _, ok := freshReading(c, p.ID, test); !ok {
			out = append(out, Task{Do: DoRead, ID: test, Point: p.ID})
		}
	}
	for _, s := range a.Steps {
		switch {
		case s.Point != p.ID || s.Done:
		case s.Entry != "":
			out = append(out, Task{Do: DoConfirm, ID: s.Entry, Point: p.ID, Step: s.ID, Who: s.Other})
		case s.Test == "":
			out = append(out, Task{Do: DoStep, ID: s.ID, Point: p.ID, Text: s.Text})
		case !slices.Contains(p.Tests, s.Test):
			out = append(out, Task{Do: DoRead, ID: s.Test, Point: p.ID, Step: s.ID})
		}
	}
	for _, f := range judging(c, p, a) {
		out = append(out, answering(c, f, p.ID))
	}
	return out
}

// judging lists the findings that keep the point open.
func judging(c *state.Car, p procedures.Point, a Assessment) []schema.Finding {
	if p.Guards == procedures.ActOpening {
		return rules.ReadyToOpen(c)
	}
	return unsatisfied(p, a)
}

// unsatisfied lists the unanswered findings of the point's rules that weigh
// UNPROVEN or more. A point about the plan does not ask what is fitted.
func unsatisfied(p procedures.Point, a Assessment) []schema.Finding {
	return slices.DeleteFunc(slices.Clone(a.Findings), func(f schema.Finding) bool {
		return f.Severity < schema.Unproven || f.Answered != "" || !slices.Contains(p.Rules, f.Rule) || p.OfPlan && rules.OfFitted(f)
	})
}

func said(f schema.Finding) string { return f.Rule + ": " + f.About + ": " + f.Measured }
