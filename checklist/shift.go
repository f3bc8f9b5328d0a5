package checklist

import (
	"fmt"
	"slices"
	"strings"

	"feedproof/checklist/rules"
	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/places"
)

// Shift is what the next person at the car must know before touching it.
type Shift struct {
	Band       Band             `json:"band"`       // what is to be seen first
	Why        string           `json:"why"`        // the finding, or the joints
	Physical   []string         `json:"physical"`   // what is open, off or out, the worst first
	Begun      []string         `json:"begun"`      // steps started and not finished
	Unanswered []schema.Finding `json:"unanswered"` // FLAG and above, those that only wait for a record left out
	Waiting    int              `json:"waiting"`    // things that only wait for a record
	Next       string           `json:"next"`
}

// batteryOff is the step that takes the battery off; whatever ran the pump after
// it had it on again.
const batteryOff = "B8"

// stays are the physical states that one step begins and another ends.
var stays = []struct{ begins, test, ends, text string }{
	{batteryOff, "plug", "G3", "battery OFF"},
	{"B6", "", "G1", "filler cap off"},
	{"C5", "", "G1", "tank OUT of the car"},
	{"B5", "", "", "car on the lift or stands"},
}

// HandOver says how the car stands for whoever takes over.
func HandOver(a Assessment) Shift {
	c := a.Car
	s := Shift{Next: a.Next, Physical: []string{}, Begun: []string{}}
	s.Band, s.Why = a.Standing.Band()
	for _, joint := range a.Standing.Joints {
		s.Physical = append(s.Physical, "line OPEN at "+joint)
	}
	for _, stay := range stays {
		if lasts(c, stay.begins, stay.test, stay.ends) {
			s.Physical = append(s.Physical, stay.text)
		}
	}
	if text := plugs(c); text != "" {
		s.Physical = append(s.Physical, text)
	}
	for _, step := range a.Steps {
		if step.State == schema.StepStarted && !step.Done {
			s.Begun = append(s.Begun, fmt.Sprintf("step %s by %s: %s", step.ID, step.By, step.Text))
		}
	}
	said, waiting := Parted(a.Findings)
	s.Waiting = len(waiting)
	s.Unanswered = slices.DeleteFunc(said, func(f schema.Finding) bool { return f.Severity < schema.Flag || f.Answered != "" })
	return s
}

// Note is what the record keeps of a hand-over.
func (s Shift) Note(from, to string) string {
	parts := append([]string{strings.TrimSuffix(string(s.Band)+": "+s.Why, ": ")}, s.Physical...)
	for _, b := range s.Begun {
		step, _, _ := strings.Cut(b, " by ")
		parts = append(parts, step+" begun")
	}
	return fmt.Sprintf("handed over from %s to %s: %s", from, to, strings.Join(parts, "; "))
}

// openJoints lists the joints that were opened in the visit and that no leak
// test has shown dry since.
func openJoints(c *state.Car) []string {
	var out []string
	for _, o := range c.Untested() {
		if joint := places.Joint(o.Joint); c.InVisit(o.Entry) && !slices.Contains(out, joint) {
			out = append(out, joint)
		}
	}
	return out
}

// lastStep finds the last entry that did a step in this visit.
func lastStep(c *state.Car, id string) (state.Step, bool) {
	for _, s := range slices.Backward(c.Steps) {
		if s.Data.Step == id && c.InVisit(s.Entry) && s.Data.State != schema.StepNA {
			return s, true
		}
	}
	return state.Step{}, false
}

// since is the entry that began a state: the step, or its reading.
func since(c *state.Car, step, test string) (schema.Entry, bool) {
	s, done := lastStep(c, step)
	r, read := c.Last(test)
	switch {
	case read && (!done || schema.Order(r.Entry, s.Entry) > 0):
		return r.Entry, true
	case done:
		return s.Entry, true
	}
	return schema.Entry{}, false
}

func lasts(c *state.Car, begins, test, ends string) bool {
	began, ok := since(c, begins, test)
	if !ok {
		return false
	}
	if begins == batteryOff && rules.EnergisedAfter(c, began) {
		return false
	}
	ended, over := lastStep(c, ends)
	return !over || schema.Order(ended.Entry, began) < 0
}

// Steps that count the plugs of open lines.
const (
	plugsIn  = "C4"
	plugsOut = "F5"
)

// CountsPlugs reports that a step says how many plugs went in or came out.
func CountsPlugs(step string) bool { return step == plugsIn || step == plugsOut }

// plugs says how many plugs went into open lines and have not come out.
func plugs(c *state.Car) string {
	in, ok := lastStep(c, plugsIn)
	if !ok || in.Data.Count == "" {
		return ""
	}
	if out, done := lastStep(c, plugsOut); done && schema.Order(out.Entry, in.Entry) > 0 {
		if out.Data.Count == in.Data.Count {
			return ""
		}
		return fmt.Sprintf("plugs: %s in, %s out", in.Data.Count, first(string(out.Data.Count), "none"))
	}
	return fmt.Sprintf("plugs: %s in, none out", in.Data.Count)
}

func first(a, b string) string {
	if a != "" {
		return a
	}
	return b
}
