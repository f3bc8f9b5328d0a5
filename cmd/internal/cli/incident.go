package cli

import (
	"context"

	"feedproof/cmd/internal/desk"
	"feedproof/cmd/internal/terminal"
	"feedproof/schema"

	"github.com/spf13/cobra"
)

// incidentOptions are what went wrong.
type incidentOptions struct {
	car  string
	data schema.IncidentData
	at   string
}

func newIncidentCommand(run func(context.Context, incidentOptions) error) *cobra.Command {
	o := incidentOptions{data: schema.IncidentData{Injury: schema.NotKnown}}
	c := &cobra.Command{
		Use: "incident CAR", Short: "write down what went wrong: spill, fire, leak, injury", Args: asUsed,
		Long: `First make the car and the people safe. Then write down what happened, with
photos of what was found before anything is touched (feedproof attach).

A puncture by a jet of fuel is an emergency: hospital now, say "injected fuel".
What has to be reported, and to whom, is for local rules.`,
		Example: `  feedproof incident kestrel --what "0.8 L spilled at the filler" --severity small --injury no --action "soaked up, bay aired"`,
		RunE: func(c *cobra.Command, args []string) error {
			o.car = args[0]
			return run(c.Context(), o)
		},
	}
	f := c.Flags()
	f.StringVar(&o.data.What, "what", "", "what happened, in words")
	f.StringVar(&o.data.Severity, "severity", "", "how bad it was, in words")
	choice(f, &o.data.Injury, "injury", "somebody was hurt")
	f.StringVar(&o.data.Action, "action", "", "what was done about it")
	f.StringVar(&o.at, "at", "", "when")
	return c
}

func runIncident(_ context.Context, d *desk.Desk, out *terminal.Screen, o incidentOptions) error {
	c, err := d.Car(o.car)
	if err != nil {
		return err
	}
	if o.data.What == "" || o.data.Severity == "" {
		return wrong("feedproof incident "+desk.Quoted(c.Data.Name)+` --what ".." --severity small`, "--what, --severity: say what happened and how bad it was")
	}
	at, err := moment(d.Now(), o.at)
	if err != nil {
		return err
	}
	return record(d, out, c, at, o.data)
}
