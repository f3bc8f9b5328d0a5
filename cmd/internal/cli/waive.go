package cli

import (
	"context"
	"strings"

	"feedproof/checklist"
	"feedproof/cmd/internal/desk"
	"feedproof/cmd/internal/terminal"
	"feedproof/schema"

	"github.com/spf13/cobra"
)

// waiveOptions are a lead's answer to a HOLD.
type waiveOptions struct {
	car, finding string
	answer       schema.WaiveData
}

func newWaiveCommand(run func(context.Context, waiveOptions) error) *cobra.Command {
	var o waiveOptions
	c := &cobra.Command{
		Use: "waive CAR FINDING", Short: "a lead's bounded answer to a HOLD", Args: asUsed,
		Long: "A lead's bounded answer to a HOLD: why it may stand, what is done instead, until\nwhen, and that the customer knows. It holds for the number as it was measured. A\nBLOCK or STOP is never waived.",
		RunE: func(c *cobra.Command, args []string) error {
			o.car, o.finding = args[0], args[1]
			return run(c.Context(), o)
		},
	}
	f := c.Flags()
	f.StringVar(&o.answer.Why, "why", "", "why it may stand, in 15 words or more")
	f.StringVar(&o.answer.Measure, "measure", "", "what is done instead")
	f.StringVar(&o.answer.Expires, "expires", "", "date it ends")
	choice(f, &o.answer.Informed, "informed", "the customer knows")
	return c
}

func runWaive(_ context.Context, d *desk.Desk, out *terminal.Screen, o waiveOptions) error {
	c, err := d.Car(o.car)
	if err != nil {
		return err
	}
	me, err := d.Who()
	if err != nil {
		return err
	}
	if err := d.May(me.Person, o.answer.EntryKind()); err != nil {
		return err
	}
	a, err := d.Assess(c)
	if err != nil {
		return err
	}
	f, err := desk.Finding(a, c.Data.Name, o.finding, schema.Hold, schema.Block, schema.Stop, schema.Unproven)
	if err != nil {
		return err
	}
	answer := o.answer
	answer.Rule, answer.Subject, answer.Code, answer.Values, answer.Limits = f.Rule, f.Subject, f.Code, f.Values, f.Limits
	if wrongs := checklist.WaiverTrouble(a.Car, f, me.Person, answer); len(wrongs) > 0 {
		return &desk.Error{Kind: desk.Refused, Wrong: "waiver refused: " + strings.Join(wrongs, "; "), Mend: "feedproof waive --help", Found: []schema.Finding{f}}
	}
	return record(d, out, c, d.Now(), answer)
}
