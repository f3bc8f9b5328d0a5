package cli

import (
	"feedproof/cmd/internal/desk"
	"feedproof/schema"

	"github.com/spf13/cobra"
)

func (a *app) incidentCommand() *cobra.Command {
	d := schema.IncidentData{Injury: schema.NotKnown}
	var at string
	c := &cobra.Command{
		Use: "incident CAR", Short: "write down what went wrong: spill, fire, leak, injury", Args: takes("CAR"),
		Long: `First make the car and the people safe. Then write down what happened, with
photos of what was found before anything is touched (feedproof attach).

A puncture by a jet of fuel is an emergency: hospital now, say "injected fuel".
What has to be reported, and to whom, is for local rules.`,
		Example: `  feedproof incident kestrel --what "0.8 L spilled at the filler" --severity small --injury no --action "soaked up, bay aired"`,
		RunE: func(_ *cobra.Command, args []string) error {
			s, v, err := a.openCar(args[0])
			if err != nil {
				return err
			}
			if d.What == "" || d.Severity == "" {
				return wrong("feedproof incident "+desk.Quoted(v.Data.Name)+` --what ".." --severity small`, "--what, --severity: say what happened and how bad it was")
			}
			when, err := moment(s.Now(), at)
			if err != nil {
				return err
			}
			return s.record(v, when, d)
		},
	}
	f := c.Flags()
	f.StringVar(&d.What, "what", "", "what happened, in words")
	f.StringVar(&d.Severity, "severity", "", "how bad it was, in words")
	choice(f, &d.Injury, "injury", "somebody was hurt")
	f.StringVar(&d.Action, "action", "", "what was done about it")
	f.StringVar(&at, "at", "", "when")
	return c
}
