package checklist

import (
	"feedproof/checklist/car"
	"feedproof/checklist/procedures"
	"feedproof/schema"
)

// Step is a step that applies to the visit, with its state.
type Step struct {
	procedures.Step
	State schema.StepState // empty: not begun
	Done  bool             // done, or not applicable with a reason, or its reading is there
	By    string
}

func steps(c *car.Car) []Step {
	var out []Step
	for _, s := range c.Book.For(c.Kinds()) {
		if !c.Applies(s.When) {
			continue
		}
		out = append(out, stepState(c, s))
	}
	return out
}

func stepState(c *car.Car, s procedures.Step) Step {
	step := Step{Step: s}
	for _, e := range c.Steps {
		if e.Data.Step == s.ID && c.InVisit(e.Entry) {
			step.State, step.By = e.Data.State, e.Entry.By
		}
	}
	step.Done = step.State == schema.StepDone || step.State == schema.StepNA
	if s.Test != "" && !step.Done {
		if r, ok := c.Last(s.Test); ok {
			step.Done, step.By = true, r.Entry.By
		}
	}
	return step
}
