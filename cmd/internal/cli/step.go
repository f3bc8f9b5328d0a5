package cli

import (
	"context"
	"time"

	"feedproof/checklist/procedures"
	"feedproof/cmd/internal/desk"
	"feedproof/cmd/internal/terminal"
	"feedproof/schema"

	"github.com/spf13/cobra"
)

// stepOptions are steps and how they stand; without one they are listed.
type stepOptions struct {
	car           string
	steps         []string
	data          schema.StepData // tool and second person as they were typed
	started, done bool
	na, at        string
}

func newStepCommand(run func(context.Context, stepOptions) error) *cobra.Command {
	var o stepOptions
	c := &cobra.Command{
		Use: "step CAR [STEP ...]", Short: "record steps as done, or list the steps that apply",
		Long:    "Record steps as done, started or not applicable. Without a step it lists those\nthat apply to the visit and how each stands.",
		Args:    asUsed,
		Example: "  feedproof step kestrel b1 b2\n  feedproof step kestrel a5 --joint \"hanger flange\"\n  feedproof step kestrel E11 --na \"one pump\"",
		RunE: func(c *cobra.Command, args []string) error {
			o.car, o.steps = args[0], args[1:]
			return run(c.Context(), o)
		},
	}
	f := c.Flags()
	f.BoolVar(&o.done, "done", false, "it is done (the default)")
	f.BoolVar(&o.started, "started", false, "it is begun and not finished")
	f.StringVar(&o.na, "na", "", "why it does not apply")
	f.StringVar(&o.data.Joint, "joint", "", "the joint it opened or closed")
	measure(f, &o.data.Torque, "torque", "torque of the joint")
	f.StringVar(&o.data.Tool, "tool", "", "torque wrench: an instrument of the shop")
	f.StringVar(&o.data.Second, "second", "", "second person")
	f.StringVar(&o.data.Note, "note", "", "in words")
	f.StringVar(&o.at, "at", "", "when it was done")
	either(c, "done", "started", "na")
	return c
}

func runStep(_ context.Context, d *desk.Desk, out *terminal.Screen, o stepOptions) error {
	if len(o.steps) == 0 {
		return listSteps(d, out, o.car)
	}
	data, err := stepOf(d, o)
	if err != nil {
		return err
	}
	var steps []procedures.Step
	for _, n := range o.steps {
		step, err := desk.Step(n)
		if err != nil {
			return err
		}
		steps = append(steps, step)
	}
	at, err := moment(d.Now(), o.at)
	if err != nil {
		return err
	}
	return showEach(out, func(yield func(desk.Recorded, error) bool) {
		for _, step := range steps {
			data.Step = step.ID
			if !yield(recordOn(d, o.car, at, data)) {
				return
			}
			out.Say("    %s: %s", step.ID, step.Text)
		}
	})
}

func recordOn(d *desk.Desk, car string, at time.Time, data schema.Data) (desk.Recorded, error) {
	c, err := d.Car(car)
	if err != nil {
		return desk.Recorded{}, err
	}
	return d.Record(c, at, data)
}

// stepOf is what is recorded of each step, with the tool and the second person
// as the shop knows them.
func stepOf(d *desk.Desk, o stepOptions) (schema.StepData, error) {
	data := o.data
	data.State = schema.StepDone
	if o.started {
		data.State = schema.StepStarted
	}
	if o.na != "" {
		data.State, data.Why = schema.StepNA, o.na
	}
	if data.Tool != "" {
		g, err := d.Gauge(data.Tool)
		if err != nil {
			return data, err
		}
		data.Tool = g.ID
	}
	if data.Second != "" {
		m, err := d.Person(data.Second)
		if err != nil {
			return data, err
		}
		data.Second = m.Person
	}
	return data, nil
}

// stepJSON is a step as --json lists it.
type stepJSON struct {
	Step  string           `json:"step"`
	Text  string           `json:"text"`
	Who   schema.Role      `json:"who"`
	State schema.StepState `json:"state"`
	Done  bool             `json:"done"`
	By    string           `json:"by,omitempty"`
	Point string           `json:"point,omitempty"`
	Test  string           `json:"test,omitempty"`
}

func listSteps(d *desk.Desk, out *terminal.Screen, car string) error {
	c, err := d.Car(car)
	if err != nil {
		return err
	}
	a, err := d.Assess(c)
	if err != nil {
		return err
	}
	lines := []stepJSON{}
	var rows [][]string
	for _, p := range a.Steps {
		lines = append(lines, stepJSON{p.ID, p.Text, p.Who, p.State, p.Done, p.By, p.Point, p.Test})
		rows = append(rows, []string{box(p.Done, p.State), p.ID, p.Point, p.By, p.Text})
	}
	if out.AsJSON() {
		return out.JSON(lines)
	}
	out.Table([]string{"", "STEP", "FOR", "BY", "WHAT"}, rows)
	return nil
}

func box(done bool, state schema.StepState) string {
	switch {
	case state == schema.StepNA:
		return "[-]"
	case done:
		return "[x]"
	case state == schema.StepStarted:
		return "[/]"
	}
	return "[ ]"
}
