package cli

import (
	"context"

	"feedproof/cmd/internal/desk"
	"feedproof/cmd/internal/terminal"
	"feedproof/schema"

	"github.com/spf13/cobra"
)

// vehicleCloseOptions are why the shop cares for a car no longer.
type vehicleCloseOptions struct{ car, why, until string }

func newVehicleCloseCommand(run func(context.Context, vehicleCloseOptions) error) *cobra.Command {
	var o vehicleCloseOptions
	c := &cobra.Command{
		Use: "close CAR", Short: "end the shop's care for a car: sold on, scrapped, taken elsewhere", Args: asUsed,
		Long: `Say that the shop cares for a car no longer, and until when its record is kept:
ten years on, unless another date is given (shop policy; local law comes first).
Nothing is deleted: the record stays, and the car is no longer reminded of. A
new visit takes the car back. The next owner gets what is technical:
feedproof export DIR --car CAR --for new-owner.`,
		Example: `  feedproof vehicle close kestrel --why "sold on"`,
		RunE: func(c *cobra.Command, args []string) error {
			o.car = args[0]
			return run(c.Context(), o)
		},
	}
	c.Flags().StringVar(&o.why, "why", "", "sold on, scrapped, moved away, ...")
	c.Flags().StringVar(&o.until, "keep-until", "", "date until which the record is kept (default: ten years on)")
	return c
}

func runVehicleClose(ctx context.Context, d *desk.Desk, out *terminal.Screen, o vehicleCloseOptions) error {
	c, err := d.Car(o.car)
	if err != nil {
		return err
	}
	if o.why == "" {
		return wrong("feedproof vehicle close "+desk.Quoted(c.Data.Name)+` --why "sold on"`, "--why: is missing")
	}
	until := d.KeptUntil()
	if o.until != "" {
		if until, err = day(d.Now(), "keep-until", o.until); err != nil {
			return err
		}
	}
	entries, err := d.EndCare(ctx, c, o.why, until)
	if err != nil {
		return err
	}
	return showPut(out, schema.VehicleRecord, c.ID, entries, c.Data.Name+": care ended, "+o.why+"; the record is kept until "+until)
}
