package cli

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"

	"feedproof/checklist/state"
	"feedproof/cmd/internal/desk"
	"feedproof/cmd/internal/terminal"
	"feedproof/schema"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"
)

func newVehicleCommand(below ...*cobra.Command) *cobra.Command {
	c := group("vehicle", "the cars", below...)
	c.Example = "  feedproof vehicle list\n  feedproof vehicle show kestrel"
	return c
}

// vehicleAddOptions are a car as it is described.
type vehicleAddOptions struct{ data schema.VehicleData }

func newVehicleAddCommand(run func(context.Context, vehicleAddOptions) error) *cobra.Command {
	o := vehicleAddOptions{schema.VehicleData{RoadUse: schema.NotKnown, EmissionControlled: schema.NotKnown, TankEverFuelled: schema.NotKnown}}
	c := &cobra.Command{
		Use: "add NAME", Short: "add a car", Args: asUsed,
		Example: `  feedproof vehicle add kestrel --plate "KT 42" --what "silver hatchback" --cylinders 4 --induction turbo --road yes`,
		RunE: func(c *cobra.Command, args []string) error {
			o.data.Name = args[0]
			return run(c.Context(), o)
		},
	}
	vehicleFlags(c.Flags(), &o.data)
	return c
}

func vehicleFlags(f *pflag.FlagSet, d *schema.VehicleData) {
	f.StringVar(&d.Plate, "plate", d.Plate, "plate")
	f.StringVar(&d.VIN, "vin", d.VIN, "VIN or chassis number; a car may have none")
	f.StringVar(&d.Description, "what", d.Description, "colour and body, in words")
	f.IntVar(&d.ModelYear, "year", d.ModelYear, "model year")
	f.StringVar(&d.Engine, "engine", d.Engine, "engine, in words")
	f.IntVar(&d.Cylinders, "cylinders", d.Cylinders, "cylinders")
	measure(f, &d.Displacement, "displacement", "displacement")
	choice(f, &d.Induction, "induction", "how it breathes")
	choice(f, &d.FuelSystem, "fuel-system", "how fuel reaches the engine")
	choice(f, &d.RoadUse, "road", "used on the road")
	choice(f, &d.EmissionControlled, "emission", "emission-controlled")
	choice(f, &d.TankEverFuelled, "tank-fuelled", "the tank has ever held fuel")
	measure(f, &d.TankVolume, "tank", "tank volume")
	f.StringVar(&d.Tank, "tank-tag", d.Tank, "tag or serial of the tank, as a cleaning certificate must name it")
	choice(f, &d.HighVoltage, "high-voltage", "has a high-voltage system")
	f.StringVar(&d.Owner, "owner", d.Owner, "a reference to the owner; names are kept apart")
}

func runVehicleAdd(ctx context.Context, d *desk.Desk, out *terminal.Screen, o vehicleAddOptions) error {
	car := o.data
	if car.Description == "" {
		return wrong(fmt.Sprintf(`feedproof vehicle add %q --what "silver hatchback"`, car.Name), "--what: say what the car looks like, so that nobody works on the wrong one")
	}
	id, entries, err := d.AddCar(ctx, car)
	if err != nil {
		return err
	}
	return showPut(out, schema.VehicleRecord, id, entries, fmt.Sprintf("car %s: %s; next: feedproof visit open %s --kind a", desk.Describe([]string{car.Name, car.Plate}), car.Description, desk.Quoted(car.Name)))
}

// vehicleChangeOptions are what is different about a car.
type vehicleChangeOptions struct {
	car     string
	changes []change
}

// change is a flag of [vehicleFlags] that was given, with its value.
type change struct{ flag, value string }

func newVehicleChangeCommand(run func(context.Context, vehicleChangeOptions) error) *cobra.Command {
	c := &cobra.Command{
		Use: "change CAR", Short: "record what is different: another engine, tank, plate, owner", Args: asUsed,
		Example: "  feedproof vehicle change kestrel --tank-tag T-17",
		RunE: func(c *cobra.Command, args []string) error {
			return run(c.Context(), vehicleChangeOptions{args[0], changesOf(c.LocalNonPersistentFlags())})
		},
	}
	vehicleFlags(c.Flags(), &schema.VehicleData{})
	return c
}

// changesOf lists the flags that were given, by name.
func changesOf(flags *pflag.FlagSet) []change {
	var changes []change
	flags.VisitAll(func(f *pflag.Flag) {
		if f.Changed {
			changes = append(changes, change{f.Name, f.Value.String()})
		}
	})
	return changes
}

// runVehicleChange records anew what a car is, with what was typed over what
// was known.
func runVehicleChange(ctx context.Context, d *desk.Desk, out *terminal.Screen, o vehicleChangeOptions) error {
	c, err := d.Car(o.car)
	if err != nil {
		return err
	}
	now, said, err := changed(c.Data, o.changes)
	switch {
	case err != nil:
		return err
	case len(said) == 0:
		return wrong("feedproof vehicle change --help", "%s: say what is different", c.Data.Name)
	case now == c.Data:
		return wrong("feedproof vehicle show "+desk.Quoted(c.Data.Name), "%s: nothing of that is different", c.Data.Name)
	}
	return put(ctx, d, out, schema.VehicleRecord, c.ID, d.Now(), fmt.Sprintf("car %s: %s", c.Data.Name, strings.Join(said, ", ")), now)
}

// changed is a car with its changes, and each of them in words.
func changed(car schema.VehicleData, changes []change) (schema.VehicleData, []string, error) {
	flags := pflag.NewFlagSet("", pflag.ContinueOnError)
	vehicleFlags(flags, &car)
	var said []string
	var wrongs []error
	for _, ch := range changes {
		said = append(said, ch.flag+" "+desk.Quoted(ch.value))
		wrongs = append(wrongs, flags.Set(ch.flag, ch.value))
	}
	return car, said, errors.Join(wrongs...)
}

func newVehicleListCommand(run func(context.Context, noOptions) error) *cobra.Command {
	return &cobra.Command{
		Use: "list", Short: "list every car, in the shop or gone", Args: asUsed,
		Example: "  feedproof vehicle list",
		RunE:    func(c *cobra.Command, _ []string) error { return run(c.Context(), noOptions{}) },
	}
}

// vehicleJSON is a car as --json lists it.
type vehicleJSON struct {
	ID      string             `json:"id"`
	Vehicle schema.VehicleData `json:"vehicle"`
	Entries int                `json:"entries"`
	Draft   int                `json:"draft"`
}

func runVehicleList(_ context.Context, d *desk.Desk, out *terminal.Screen, _ noOptions) error {
	if out.AsJSON() {
		return listVehiclesJSON(d, out)
	}
	all, err := d.Names()
	if err != nil {
		return err
	}
	drafted, err := d.Drafts()
	if err != nil {
		return err
	}
	var rows [][]string
	for _, n := range all {
		draft := []schema.Entry(nil)
		if slices.Contains(drafted, n.ID) {
			if draft, err = d.Draft(n.ID); err != nil {
				return err
			}
		}
		rows = append(rows, []string{n.Name, n.Plate, tail(n.VIN), fmt.Sprint(n.Entries), fmt.Sprint(len(draft)), n.What})
	}
	out.Table([]string{"CAR", "PLATE", "VIN", "ENTRIES", "DRAFT", "WHAT"}, rows)
	return nil
}

func listVehiclesJSON(d *desk.Desk, out *terminal.Screen) error {
	cars, err := d.Cars()
	if err != nil {
		return err
	}
	lines := []vehicleJSON{}
	for _, c := range cars {
		lines = append(lines, vehicleJSON{c.ID, c.Data, len(state.Written(c.Record)), len(c.Draft)})
	}
	return out.JSON(lines)
}

// shownOfVIN is how much of a VIN tells cars apart on a screen.
const shownOfVIN = 6

func tail(vin string) string {
	if len(vin) <= shownOfVIN {
		return vin
	}
	return "..." + vin[len(vin)-shownOfVIN:]
}
