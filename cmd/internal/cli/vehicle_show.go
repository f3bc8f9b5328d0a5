package cli

import (
	"context"

	"feedproof/checklist"
	"feedproof/cmd/internal/desk"
	"feedproof/cmd/internal/facts"
	"feedproof/cmd/internal/terminal"
	"feedproof/schema"

	"github.com/spf13/cobra"
)

// vehicleShowOptions are which car is looked at.
type vehicleShowOptions struct{ car string }

func newVehicleShowCommand(run func(context.Context, vehicleShowOptions) error) *cobra.Command {
	return &cobra.Command{
		Use: "show CAR", Short: "one car: what it is, what is fitted, how it stands", Args: asUsed,
		Example: "  feedproof vehicle show kestrel",
		RunE: func(c *cobra.Command, args []string) error {
			return run(c.Context(), vehicleShowOptions{args[0]})
		},
	}
}

// showJSON is one car with what is fitted.
type showJSON struct {
	ID      string                    `json:"id"`
	Vehicle schema.VehicleData        `json:"vehicle"`
	Fitted  map[string]schema.FitData `json:"fitted"`
	Stands  checkJSON                 `json:"stands"`
}

func runVehicleShow(_ context.Context, d *desk.Desk, out *terminal.Screen, o vehicleShowOptions) error {
	c, err := d.Car(o.car)
	if err != nil {
		return err
	}
	a, err := d.Assess(c)
	if err != nil {
		return err
	}
	if out.AsJSON() {
		fitted := map[string]schema.FitData{}
		for position, f := range a.Car.Fitted {
			fitted[position] = f.Data
		}
		return out.JSON(showJSON{c.ID, c.Data, fitted, checkOf(c, a)})
	}
	top(out, c, a)
	out.Say("%s", desk.Joined(c.Data.Description, c.Data.Engine, c.Data.Displacement.String(), string(c.Data.Induction), string(c.Data.FuelSystem)))
	if tank := desk.Joined(c.Data.TankVolume.String(), c.Data.Tank); tank != "" {
		out.Say("tank: %s", tank)
	}
	if a.Car.Plan != nil {
		out.Say("planned for %s", facts.Envelope(a.Car.Plan.Envelope))
	}
	out.Table([]string{"WHERE", "PART", "BY", "DATE", "WHAT"}, facts.Fitted(a.Car))
	out.Say("Next: %s", desk.ForCar(a.Next, c.Data.Name))
	return nil
}

func checkOf(c desk.Car, a checklist.Assessment) checkJSON {
	return checkJSON{desk.Stands(c, a), checklist.RuleSet, list(desk.Named(a.Findings, c.Data.Name)), list(a.Points), list(checklist.Diagnose(a))}
}
