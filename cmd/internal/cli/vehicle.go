package cli

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"feedproof/cmd/internal/desk"
	"feedproof/schema"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"
)

func (a *app) vehicleCommand() *cobra.Command {
	return group("vehicle", "the cars", a.vehicleAdd(), a.vehicleChange(), a.vehicleList(), a.vehicleShow(), a.vehicleClose())
}

func (a *app) vehicleAdd() *cobra.Command {
	d := schema.VehicleData{RoadUse: schema.NotKnown, EmissionControlled: schema.NotKnown, TankEverFuelled: schema.NotKnown}
	c := &cobra.Command{
		Use: "add NAME", Short: "add a car", Args: takes("NAME"),
		Example: `  feedproof vehicle add kestrel --plate "KT 42" --what "silver hatchback" --cylinders 4 --induction turbo --road yes`,
		RunE: func(_ *cobra.Command, args []string) error {
			s, err := a.open()
			if err != nil {
				return err
			}
			d.Name = args[0]
			return s.addVehicle(d)
		},
	}
	vehicleFlags(c.Flags(), &d)
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

// vehicleChange records anew what a car is, with what was typed over what was
// known.
func (a *app) vehicleChange() *cobra.Command {
	c := &cobra.Command{
		Use: "change CAR", Short: "record what is different: another engine, tank, plate, owner", Args: takes("CAR"),
		Example: "  feedproof vehicle change kestrel --tank-tag T-17",
		RunE: func(c *cobra.Command, args []string) error {
			s, v, err := a.openCar(args[0])
			if err != nil {
				return err
			}
			now := v.Data
			set := pflag.NewFlagSet("", pflag.ContinueOnError)
			vehicleFlags(set, &now)
			var said []string
			var wrongs []error
			c.Flags().Visit(func(f *pflag.Flag) {
				if set.Lookup(f.Name) != nil {
					said = append(said, f.Name+" "+desk.Quoted(f.Value.String()))
					wrongs = append(wrongs, set.Set(f.Name, f.Value.String()))
				}
			})
			switch err := errors.Join(wrongs...); {
			case err != nil:
				return err
			case len(said) == 0:
				return wrong(c.CommandPath()+" --help", "%s: say what is different", v.Data.Name)
			case now == v.Data:
				return wrong("feedproof vehicle show "+desk.Quoted(v.Data.Name), "%s: nothing of that is different", v.Data.Name)
			}
			return s.put(schema.VehicleRecord, v.ID, s.Now(), fmt.Sprintf("car %s: %s", v.Data.Name, strings.Join(said, ", ")), now)
		},
	}
	vehicleFlags(c.Flags(), &schema.VehicleData{})
	return c
}

func (s *session) addVehicle(d schema.VehicleData) error {
	if d.Description == "" {
		return wrong(fmt.Sprintf(`feedproof vehicle add %q --what "silver hatchback"`, d.Name), "--what: say what the car looks like, so that nobody works on the wrong one")
	}
	all, err := s.Names()
	if err != nil {
		return err
	}
	for _, n := range all {
		if desk.Fold(n.Name) == desk.Fold(d.Name) && desk.Fold(n.Plate) == desk.Fold(d.Plate) && desk.Fold(n.VIN) == desk.Fold(d.VIN) {
			return failed("another name, or the plate or VIN that tells them apart", "car %s: is in the shop already", d.Name)
		}
	}
	id := schema.NewID(s.Now())
	return s.put(schema.VehicleRecord, id, s.Now(), fmt.Sprintf("car %s: %s; next: feedproof visit open %s --kind a", desk.Describe([]string{d.Name, d.Plate}), d.Description, desk.Quoted(d.Name)), d)
}

func (a *app) vehicleList() *cobra.Command {
	return &cobra.Command{
		Use: "list", Short: "list every car, in the shop or gone", Args: takes(),
		RunE: func(*cobra.Command, []string) error {
			s, err := a.open()
			if err != nil {
				return err
			}
			return s.listVehicles()
		},
	}
}

// vehicleJSON is a car as --json lists it.
type vehicleJSON struct {
	ID      string             `json:"id"`
	Vehicle schema.VehicleData `json:"vehicle"`
	Entries int                `json:"entries"`
	Draft   int                `json:"draft"`
}

func (s *session) listVehicles() error {
	if s.flags.json {
		return s.listVehiclesJSON()
	}
	all, err := s.Names()
	if err != nil {
		return err
	}
	drafted, err := s.Drafts()
	if err != nil {
		return err
	}
	var rows [][]string
	for _, n := range all {
		draft := []schema.Entry(nil)
		if slices.Contains(drafted, n.ID) {
			if draft, err = s.Draft(n.ID); err != nil {
				return err
			}
		}
		rows = append(rows, []string{n.Name, n.Plate, tail(n.VIN), fmt.Sprint(n.Entries), fmt.Sprint(len(draft)), n.What})
	}
	s.Table([]string{"CAR", "PLATE", "VIN", "ENTRIES", "DRAFT", "WHAT"}, rows)
	return nil
}

func (s *session) listVehiclesJSON() error {
	cars, err := s.Cars()
	if err != nil {
		return err
	}
	lines := []vehicleJSON{}
	for _, v := range cars {
		lines = append(lines, vehicleJSON{v.ID, v.Data, len(v.Record.Entries), len(v.Draft)})
	}
	return s.JSON(lines)
}

// shownOfVIN is how much of a VIN tells cars apart on a screen.
const shownOfVIN = 6

func tail(vin string) string {
	if len(vin) <= shownOfVIN {
		return vin
	}
	return "..." + vin[len(vin)-shownOfVIN:]
}

func (a *app) vehicleShow() *cobra.Command {
	return &cobra.Command{
		Use: "show CAR", Short: "one car: what it is, what is fitted, how it stands", Args: takes("CAR"),
		RunE: func(_ *cobra.Command, args []string) error {
			s, err := a.open()
			if err != nil {
				return err
			}
			return s.showVehicle(args[0])
		},
	}
}
