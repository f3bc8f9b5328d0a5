package cli

import (
	"fmt"

	"feedproof/schema"

	"github.com/spf13/cobra"
)

func (a *app) removeCommand() *cobra.Command {
	var d schema.RemoveData
	var at string
	c := &cobra.Command{
		Use: "remove CAR POSITION", Short: "record a component coming out", Args: takes("CAR", "POSITION"),
		Example: `  feedproof remove kestrel pump --why "too small" --condition "brushes worn"`,
		RunE: func(_ *cobra.Command, args []string) error {
			s, err := a.open()
			if err != nil {
				return err
			}
			return s.remove(args[0], args[1], d, at)
		},
	}
	f := c.Flags()
	f.StringVar(&d.Why, "why", "", "why it came out")
	f.StringVar(&d.Condition, "condition", "", "how it looked")
	f.StringVar(&at, "at", "", "when it came out")
	return c
}

func (s *session) remove(carName, position string, d schema.RemoveData, at string) error {
	v, err := s.Car(carName)
	if err != nil {
		return err
	}
	if d.Why == "" {
		return wrong(fmt.Sprintf(`feedproof remove %s %q --why ".."`, carName, position), "--why: is missing")
	}
	d.Position = spaced(position)
	a, err := s.Assess(v)
	if err != nil {
		return err
	}
	if fitted, ok := a.Car.Fitted[d.Position]; ok {
		d.Part = fitted.Data.Part
	}
	when, err := moment(s.Now(), at)
	if err != nil {
		return err
	}
	return s.record(v, when, d)
}
