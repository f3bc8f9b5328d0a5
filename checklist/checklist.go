// Package checklist judges a vehicle record: the findings of every rule, the
// state of every hold point and step, and whether a point may be closed or the
// car signed off.
//
// Start with [Evaluate] for the findings alone and [Assess] for all that a
// screen shows. Both are pure functions of the record, the shop's facts and
// the moment: same input, same answer, on every machine. Beside them stands what
// else is told of a car by its rules: [Explain] for the page behind a word, the
// hand-over of a shift, a log and a lap held against the plan.
//
// What is deliberately absent: storage, and any word about what is legal.
package checklist

import (
	"cmp"
	"slices"
	"strings"
	"time"

	"feedproof/checklist/fuel"
	"feedproof/checklist/planning"
	"feedproof/checklist/rules"
	"feedproof/checklist/state"
	"feedproof/schema"
)

// RuleSet names the version of the rules. A finding is kept as shown on the
// day, under the set that said it.
const RuleSet = "2026-11"

// Assessment is everything that is known about a car at a moment.
type Assessment struct {
	Car      *state.Car
	Findings []schema.Finding // heaviest first
	Points   []Point
	Steps    []Step
	Standing Standing
	Next     string // the one next thing

	each []Assessment // of every history, when there is more than one
}

// histories are the assessments that this one is the worst of.
func (a Assessment) histories() []Assessment {
	if len(a.each) == 0 {
		return []Assessment{a}
	}
	return a.each
}

// Evaluate judges the record at the moment; the heaviest finding first.
// Findings within their limits come too, as OK, so that a screen can show what
// is proven.
func Evaluate(r schema.Record, shop schema.Shop, moment time.Time) []schema.Finding {
	return worst(assessEach(r, shop, moment, func(c *state.Car) Assessment {
		return Assessment{Car: c, Findings: evaluate(c)}
	})).Findings
}

// Assess is Evaluate with hold points, steps and the next thing.
func Assess(r schema.Record, shop schema.Shop, moment time.Time) Assessment {
	return worst(assessEach(r, shop, moment, assess))
}

// assess judges one history.
func assess(c *state.Car) Assessment {
	a := Assessment{Car: c, Findings: evaluate(c)}
	a.Steps = steps(c)
	a.Points = points(c, a)
	a.Standing = stands(a)
	a.Next = next(a)
	return a
}

func evaluate(c *state.Car) []schema.Finding {
	var found []schema.Finding
	for _, r := range rules.All() {
		found = append(found, r.Judge(c)...)
	}
	if c.Looking() { // what the release showed is not asked for again
		found = slices.DeleteFunc(found, rules.Waits)
	}
	answer(c, found)
	heaviestFirst(found)
	return found
}

func heaviestFirst(found []schema.Finding) {
	slices.SortStableFunc(found, func(a, b schema.Finding) int {
		return cmp.Or(cmp.Compare(b.Severity, a.Severity), strings.Compare(a.Rule, b.Rule))
	})
}

// Plan is the calculation on the car as it stands.
func Plan(c *state.Car) (fuel.Result, error) { return planning.Compute(c) }

// PlanAlone is the calculation on the parts that the plan names, whatever is in
// the car.
func PlanAlone(c *state.Car) (fuel.Result, error) { return planning.ComputePlanned(c) }

// Open lists the findings that keep the car from a clean commit.
func Open(findings []schema.Finding) []schema.Finding {
	return slices.DeleteFunc(slices.Clone(findings), func(f schema.Finding) bool { return !f.Open() })
}

// PumpWear is what the timed flows of all visits say of a car's pumps.
type PumpWear = rules.Wear

// Wear reads the timed flows of a car.
//
// Errors: as [Plan].
func Wear(c *state.Car) (PumpWear, error) { return rules.WearOf(c) }
