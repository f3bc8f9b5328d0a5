package cli

import (
	"context"

	"feedproof/checklist"
	"feedproof/cmd/internal/desk"
	"feedproof/cmd/internal/terminal"
	"feedproof/schema"

	"github.com/spf13/cobra"
)

// acknowledgeOptions are the answer to a FLAG.
type acknowledgeOptions struct{ car, finding, why string }

func newAcknowledgeCommand(run func(context.Context, acknowledgeOptions) error) *cobra.Command {
	var o acknowledgeOptions
	c := &cobra.Command{
		Use: "acknowledge CAR FINDING", Short: "answer a FLAG: say why it may stand; a lead does this", Args: asUsed,
		Long:    "Answer a FLAG: say why it may stand. A lead who did not do that work answers.\nThe answer holds for what was measured, and for parts and plan as they were:\nwhen one changes it lapses.",
		Example: `  feedproof --as lead-1 acknowledge kestrel L01 --why "track days only, level kept above a quarter"`,
		RunE: func(c *cobra.Command, args []string) error {
			o.car, o.finding = args[0], args[1]
			return run(c.Context(), o)
		},
	}
	c.Flags().StringVar(&o.why, "why", "", "why it may stand")
	return c
}

func runAcknowledge(_ context.Context, d *desk.Desk, out *terminal.Screen, o acknowledgeOptions) error {
	if o.why == "" {
		return wrong(`feedproof acknowledge `+desk.Quoted(o.car)+` `+desk.Quoted(o.finding)+` --why ".."`, "--why: is missing")
	}
	c, err := d.Car(o.car)
	if err != nil {
		return err
	}
	a, err := d.Assess(c)
	if err != nil {
		return err
	}
	f, err := desk.Finding(a, c.Data.Name, o.finding, schema.Flag)
	if err != nil {
		return err
	}
	me, err := d.Who()
	if err != nil {
		return err
	}
	if why := checklist.AnswerTrouble(a.Car, f, me.Person); why != "" {
		return &desk.Error{Kind: desk.Refused, Thing: f.Key(), Wrong: why, Mend: "feedproof acknowledge " + desk.Quoted(c.Data.Name) + " " + desk.Quoted(o.finding) + ` --as LEAD --why ".."`}
	}
	return record(d, out, c, d.Now(), f.Acknowledged(o.why))
}
