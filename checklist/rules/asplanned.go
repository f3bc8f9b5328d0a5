package rules

import (
	"strings"

	"feedproof/checklist/car"
	"feedproof/checklist/fuel"
	"feedproof/checklist/planning"
	"feedproof/schema"
)

// AsFitted ends what a finding is about when the car carries other parts than
// its plan names, and the finding is of those. The plan is then judged apart.
const AsFitted = ", as fitted"

// OfFitted reports a finding about parts that the plan does not name. Such a
// finding says nothing about the plan.
func OfFitted(f schema.Finding) bool { return strings.HasSuffix(f.About, AsFitted) }

// OfPlan reports a finding about a plan whose parts are not those in the car. It
// says nothing about the car.
func OfPlan(c *car.Car, f schema.Finding) bool {
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

// way is a calculation, and what its findings are about.
type way struct {
	result fuel.Result
	err    error
	system func(*car.Car) (fuel.System, error)
	suffix string
}

func (w way) about(what string) string { return what + w.suffix }

// bothWays asks a judge of the plan's own parts and, where the car carries
// others, of those too.
func bothWays(c *car.Car, judge func(way) []schema.Finding) []schema.Finding {
	r, err := planning.ComputePlanned(c)
	found := judge(way{r, err, planning.Planned, ""})
	if len(planning.Others(c)) == 0 {
		return found
	}
	r, err = planning.Compute(c)
	return append(found, judge(way{r, err, planning.System, AsFitted})...)
}
