package cli

import (
	"feedproof/cmd/internal/desk"
	"feedproof/schema"

	"github.com/spf13/cobra"
)

func (a *app) acknowledgeCommand() *cobra.Command {
	var why string
	c := &cobra.Command{
		Use: "acknowledge CAR FINDING", Short: "answer a FLAG: say why it may stand", Args: takes("CAR", "FINDING"),
		Long:    "Answer a FLAG: say why it may stand. The answer holds for what was\nmeasured, and for parts and plan as they were: when one changes it lapses.",
		Example: `  feedproof acknowledge kestrel L01 --why "track days only, level kept above a quarter"`,
		RunE: func(_ *cobra.Command, args []string) error {
			s, err := a.open()
			if err != nil {
				return err
			}
			return s.acknowledge(args[0], args[1], why)
		},
	}
	c.Flags().StringVar(&why, "why", "", "why it may stand")
	return c
}

func (s *session) acknowledge(carName, name, why string) error {
	if why == "" {
		return wrong(`feedproof acknowledge `+desk.Quoted(carName)+` `+desk.Quoted(name)+` --why ".."`, "--why: is missing")
	}
	v, err := s.Car(carName)
	if err != nil {
		return err
	}
	a, err := s.Assess(v)
	if err != nil {
		return err
	}
	f, err := desk.Finding(a, v.Data.Name, name, schema.Flag)
	if err != nil {
		return err
	}
	return s.record(v, s.Now(), f.Acknowledged(why))
}
