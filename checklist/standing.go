package checklist

import (
	"slices"

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
	Released *state.SignOff  // the sign-off that is in force; nil for none
}

// stands is how one history leaves the car.
func stands(a Assessment) Standing {
	c := a.Car
	s := Standing{FuelOpen: c.FuelOpen(), Held: c.Held != nil, Released: release(c)}
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
		s.Released = nil
	}
	return s
}

// release is the sign-off of the last visit, unless something was done to the
// car after it, or it is in for work again.
func release(c *state.Car) *state.SignOff {
	if len(c.SignOffs) == 0 {
		return nil
	}
	last := c.SignOffs[len(c.SignOffs)-1]
	if c.Visit != nil && !c.InVisit(last.Entry) && len(c.Kinds()) > 0 {
		return nil
	}
	for _, e := range c.Record.Entries {
		if schema.Order(e, last.Entry) > 0 && !c.TakenBack(e) && changes(c, e) {
			return nil
		}
	}
	return &last
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
