package checklist

import (
	"slices"
	"strings"

	"feedproof/checklist/rules"
	"feedproof/checklist/state"
	"feedproof/schema"
)

// Standing is how a car stands, for the line over every screen and sheet: stop,
// or open with its joints, or closed; held; released. It is computed here and
// nowhere else.
type Standing struct {
	Stop     *schema.Finding // why to stop now; nil for nothing
	FuelOpen bool            // fuel can get out, or nobody has shown that it cannot
	Joints   []string        // that are open, or were seen leaking
	Held     bool            // committed in spite of findings
	Releases []state.SignOff // that are in force; more than one where leads did not know of each other
	Unseen   []schema.Entry  // what was written elsewhere while the last sign-off was signed
}

// Band is what stands over every screen and sheet of a car, to be seen first.
type Band string

// Bands. Fuel is closed only while nothing says stop.
const (
	BandStop   Band = "STOP"
	BandOpen   Band = "FUEL OPEN"
	BandClosed Band = "FUEL CLOSED"
)

// Band is the heaviest that holds, and why: the finding, or the joints.
func (s Standing) Band() (band Band, why string) {
	switch {
	case s.Stop != nil:
		return BandStop, s.Stop.About
	case s.FuelOpen:
		return BandOpen, strings.Join(s.Joints, ", ")
	}
	return BandClosed, ""
}

// Released is the sign-off that is in force. Of several that did not see each
// other it is the first, under the narrowest of their limits.
func (s Standing) Released() (state.SignOff, bool) {
	if len(s.Releases) == 0 {
		return state.SignOff{}, false
	}
	first := s.Releases[0]
	for _, other := range s.Releases[1:] {
		first.Data.Statement = first.Data.Statement.Narrowed(other.Data.Statement)
	}
	return first, true
}

// stands is how one history leaves the car.
func stands(a Assessment) Standing {
	c := a.Car
	s := Standing{FuelOpen: c.FuelOpen(), Held: c.Held != nil, Releases: releases(c), Unseen: unseen(c)}
	if s.FuelOpen {
		s.Joints = openJoints(c)
	}
	return s.judged(a.Findings)
}

// judged adds what findings say: nothing is closed, and nobody is released,
// over one that says otherwise.
func (s Standing) judged(found []schema.Finding) Standing {
	for _, f := range found {
		if !f.Open() {
			continue
		}
		if f.Severity == schema.Stop && s.Stop == nil {
			s.Stop = &f
		}
		if rule, ok := rules.Find(f.Rule); ok && rule.OpensFuel {
			s.FuelOpen = true
			if joint := rules.JointOf(f); joint != "" && !slices.Contains(s.Joints, joint) {
				s.Joints = append(s.Joints, joint)
			}
		}
		s.Releases = nil
	}
	return s
}

// releases are the sign-offs of the last visit, unless something was done to
// the car after them, or it is in for work again. One that another has seen
// gave way to it.
func releases(c *state.Car) []state.SignOff {
	signed := slices.DeleteFunc(slices.Clone(c.SignOffs), func(s state.SignOff) bool {
		return c.Visit != nil && !c.InVisit(s.Entry) && len(c.Kinds()) > 0 || changedSince(c, s.Entry) ||
			slices.ContainsFunc(c.SignOffs, func(later state.SignOff) bool { return c.Sight.Saw(later.Entry.ID, s.Entry.ID) })
	})
	slices.SortFunc(signed, func(a, b state.SignOff) int { return strings.Compare(a.Entry.ID, b.Entry.ID) })
	return signed
}

func changedSince(c *state.Car, signed schema.Entry) bool {
	return slices.ContainsFunc(c.Standing(), func(e schema.Entry) bool {
		return schema.Order(e, signed) > 0 && changes(c, e)
	})
}

// unseen is what the last sign-off did not see and what did not see it.
func unseen(c *state.Car) []schema.Entry {
	if len(c.SignOffs) == 0 {
		return nil
	}
	return c.Sight.Unseen(c.SignOffs[len(c.SignOffs)-1].Entry.ID)
}

// changes reports an entry after which a car is not as it was signed off. What
// is only looked at, or said, is judged by the rules.
func changes(c *state.Car, e schema.Entry) bool {
	switch e.Kind {
	case "plan", "fit", "remove", "vehicle", "incident":
		return true
	case "hold":
		d, err := schema.Into[schema.HoldData](e)
		return err != nil || len(d.Findings) > 0
	case "step":
		return slices.ContainsFunc(c.Openings, func(o state.Opening) bool { return o.Entry.ID == e.ID })
	}
	return false
}
