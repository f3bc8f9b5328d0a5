package rules

import (
	"strings"

	"feedproof/checklist/fuel"
	"feedproof/checklist/planning"
	"feedproof/checklist/state"
	"feedproof/schema"
)

// asFitted ends the subject of a finding when the car carries other parts than
// its plan names, and the finding is of those. The plan is then judged apart.
const asFitted = " as fitted"

// OfFitted reports a finding about parts that the plan does not name. Such a
// finding says nothing about the plan.
func OfFitted(f schema.Finding) bool { return strings.HasSuffix(f.Subject, asFitted) }

// OfPlan reports a finding about a plan whose parts are not those in the car. It
// says nothing about the car.
func OfPlan(c *state.Car, f schema.Finding) bool {
	return c.Plan != nil && judgesBoth(f.Rule) && !OfFitted(f) && len(planning.Others(c)) > 0
}

// judgesBoth reports the rules that judge the plan and what is fitted apart.
func judgesBoth(rule string) bool {
	switch rule {
	case "L01", "L01e", "L02", "L40":
		return true
	}
	return false
}

// way is a calculation, and what it was made of.
type way struct {
	result fuel.Result
	err    error
	system func(*state.Car) (fuel.System, error)
	apart  bool // the car carries other parts than the plan names
	fitted bool // it is made of those
}

// finding is one of the calculation, which rests on what it was made of.
func (w way) finding(c *state.Car, rule, subject, about, limit string) schema.Finding {
	f := schema.Finding{Rule: rule, Subject: subject, About: about, Limit: limit, Entries: computed(c)}
	switch {
	case w.fitted:
		f.Subject, f.About = subject+asFitted, about+", as fitted"
	case w.apart:
		f.Entries = planned(c)
	}
	return f
}

// bothWays asks a judge of the plan's own parts and, where the car carries
// others, of those too.
func bothWays(c *state.Car, judge func(way) []schema.Finding) []schema.Finding {
	apart := len(planning.Others(c)) > 0
	r, err := planning.ComputePlanned(c)
	found := judge(way{r, err, planning.Planned, apart, false})
	if !apart {
		return found
	}
	r, err = planning.Compute(c)
	return append(found, judge(way{r, err, planning.System, apart, true})...)
}
