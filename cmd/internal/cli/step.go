package cli

import (
	"feedproof/checklist/procedures"
	"feedproof/cmd/internal/desk"
	"feedproof/schema"

	"github.com/spf13/cobra"
)

func (a *app) stepCommand() *cobra.Command {
	var d schema.StepData
	var o struct {
		started, done bool
		na, at        string
	}
	c := &cobra.Command{
		Use: "step CAR [STEP ...]", Short: "record steps as done, or list the steps that apply",
		Long:    "Record steps as done, started or not applicable. Without a step it lists those\nthat apply to the visit and how each stands.",
		Args:    takesAtLeast("CAR"),
		Example: "  feedproof step kestrel b1 b2\n  feedproof step kestrel a5 --joint \"hanger flange\"\n  feedproof step kestrel E11 --na \"one pump\"",
		RunE: func(_ *cobra.Command, args []string) error {
			s, err := a.open()
			if err != nil {
				return err
			}
			d.State = schema.StepDone
			if o.started {
				d.State = schema.StepStarted
			}
			if o.na != "" {
				d.State, d.Why = schema.StepNA, o.na
			}
			if len(args) == 1 {
				return s.listSteps(args[0])
			}
			return s.steps(args[0], args[1:], d, o.at)
		},
	}
	f := c.Flags()
	f.BoolVar(&o.done, "done", false, "it is done (the default)")
	f.BoolVar(&o.started, "started", false, "it is begun and not finished")
	f.StringVar(&o.na, "na", "", "why it does not apply")
	f.StringVar(&d.Joint, "joint", "", "the joint it opened or closed")
	measure(f, &d.Torque, "torque", "torque of the joint")
	f.StringVar(&d.Tool, "tool", "", "torque wrench: an instrument of the shop")
	f.StringVar(&d.Second, "second", "", "second person")
	f.StringVar(&d.Note, "note", "", "in words")
	f.StringVar(&o.at, "at", "", "when it was done")
	either(c, "done", "started", "na")
	return c
}

func (s *session) steps(carName string, names []string, d schema.StepData, at string) error {
	if err := s.stepNames(&d); err != nil {
		return err
	}
	var found []procedures.Step
	for _, n := range names {
		step, err := stepNamed(n)
		if err != nil {
			return err
		}
		found = append(found, step)
	}
	when, err := moment(s.Now(), at)
	if err != nil {
		return err
	}
	for _, step := range found {
		v, err := s.Car(carName)
		if err != nil {
			return err
		}
		d.Step = step.ID
		if err := s.record(v, when, d); err != nil {
			return err
		}
		if !s.flags.json {
			s.Say("    %s: %s", step.ID, step.Text)
		}
	}
	return nil
}

// stepNames turns what was typed for tool and second person into their ids.
func (s *session) stepNames(d *schema.StepData) error {
	if d.Tool != "" {
		g, err := s.Gauge(d.Tool)
		if err != nil {
			return err
		}
		d.Tool = g.ID
	}
	if d.Second != "" {
		m, err := s.Person(d.Second)
		if err != nil {
			return err
		}
		d.Second = m.Person
	}
	return nil
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

func (s *session) listSteps(carName string) error {
	v, err := s.Car(carName)
	if err != nil {
		return err
	}
	a, err := s.Assess(v)
	if err != nil {
		return err
	}
	lines := []stepJSON{}
	var rows [][]string
	for _, p := range a.Steps {
		lines = append(lines, stepJSON{p.ID, p.Text, p.Who, p.State, p.Done, p.By, p.Point, p.Test})
		rows = append(rows, []string{box(p.Done, p.State), p.ID, p.Point, p.By, p.Text})
	}
	if s.flags.json {
		return s.JSON(lines)
	}
	s.Table([]string{"", "STEP", "FOR", "BY", "WHAT"}, rows)
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

// stepNamed finds a step by its name.
func stepNamed(name string) (procedures.Step, error) {
	book, err := procedures.Load()
	if err != nil {
		return procedures.Step{}, err
	}
	all := book.All()
	i, err := desk.PickExact("step", name, all, func(p procedures.Step) string { return p.ID })
	if err != nil {
		return procedures.Step{}, err
	}
	return all[i], nil
}
