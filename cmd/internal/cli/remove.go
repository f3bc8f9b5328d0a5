package cli

import (
	"context"
	"fmt"

	"feedproof/cmd/internal/desk"
	"feedproof/cmd/internal/terminal"
	"feedproof/schema"

	"github.com/spf13/cobra"
)

// removeOptions are a component that came out.
type removeOptions struct{ car, position, why, condition, at string }

func newRemoveCommand(run func(context.Context, removeOptions) error) *cobra.Command {
	var o removeOptions
	c := &cobra.Command{
		Use: "remove CAR POSITION", Short: "record a component coming out", Args: asUsed,
		Example: `  feedproof remove kestrel pump --why "too small" --condition "brushes worn"`,
		RunE: func(c *cobra.Command, args []string) error {
			o.car, o.position = args[0], args[1]
			return run(c.Context(), o)
		},
	}
	f := c.Flags()
	f.StringVar(&o.why, "why", "", "why it came out")
	f.StringVar(&o.condition, "condition", "", "how it looked")
	f.StringVar(&o.at, "at", "", "when it came out")
	return c
}

func runRemove(_ context.Context, d *desk.Desk, out *terminal.Screen, o removeOptions) error {
	c, err := d.Car(o.car)
	if err != nil {
		return err
	}
	if o.why == "" {
		return wrong(fmt.Sprintf(`feedproof remove %s %q --why ".."`, o.car, o.position), "--why: is missing")
	}
	at, err := moment(d.Now(), o.at)
	if err != nil {
		return err
	}
	done, err := d.Remove(c, at, schema.RemoveData{Position: o.position, Why: o.why, Condition: o.condition})
	if err != nil {
		return err
	}
	return showRecorded(out, done)
}
