package cli

import (
	"context"

	"feedproof/cmd/internal/desk"
	"feedproof/cmd/internal/terminal"

	"github.com/spf13/cobra"
)

// confirmOptions are what a second person saw, of which entry.
type confirmOptions struct{ car, entry, saw string }

func newConfirmCommand(run func(context.Context, confirmOptions) error) *cobra.Command {
	var o confirmOptions
	c := &cobra.Command{
		Use: "confirm CAR [ENTRY]", Short: "confirm as the second person what another wrote", Args: asUsed,
		Long:    "The second pair of eyes: whoever confirms has looked for themselves, and signs\nit with their own key. Without ENTRY it is the one that waits for you. A hold\npoint or a step of two persons stays open until then.",
		Example: "  feedproof confirm kestrel --as tech-2\n  feedproof confirm kestrel 41 --saw \"each joint wiped and dry\"",
		RunE: func(c *cobra.Command, args []string) error {
			o.car = args[0]
			if len(args) > 1 {
				o.entry = args[1]
			}
			return run(c.Context(), o)
		},
	}
	c.Flags().StringVar(&o.saw, "saw", "", "what was seen, in words")
	return c
}

func runConfirm(_ context.Context, d *desk.Desk, out *terminal.Screen, o confirmOptions) error {
	c, err := d.Car(o.car)
	if err != nil {
		return err
	}
	done, err := d.Confirm(c, o.entry, o.saw)
	if err != nil {
		return err
	}
	return showRecorded(out, done)
}
