package cli

import (
	"context"
	"fmt"
	"strings"
	"time"

	"feedproof/checklist"
	"feedproof/cmd/internal/desk"
	"feedproof/cmd/internal/terminal"

	"github.com/spf13/cobra"
)

// boardOptions are which board: the lead's, or that of one car.
type boardOptions struct {
	one   bool   // of one car
	car   string // which
	brief bool   // of the lead's, as JSON, the cars alone: without a command
}

func newBoardCommand(run func(context.Context, boardOptions) error) *cobra.Command {
	return &cobra.Command{
		Use: "board [CAR]", Short: "the lead's board; of one car: large, for the bay", Args: asUsed,
		Long: `Without a car: the cars in the shop, open STOPs and HOLDs by age, re-checks,
instruments, waivers, today's releases and lots on hold, as feedproof alone
shows them. Of one car: the state of the fuel in large letters, to be read from
two metres, and the one next thing.`,
		RunE: func(c *cobra.Command, args []string) error {
			o := boardOptions{one: len(args) == 1}
			if o.one {
				o.car = args[0]
			}
			return run(c.Context(), o)
		},
	}
}

// runBoard shows the cars that are in the shop now, and what else a lead sees
// to, or one car.
func runBoard(_ context.Context, d *desk.Desk, out *terminal.Screen, o boardOptions) error {
	if o.one {
		return carBoard(d, out, o.car)
	}
	cars, err := d.Standings()
	if err != nil {
		return err
	}
	if out.AsJSON() && o.brief {
		return out.JSON(cars.Cars)
	}
	if !out.AsJSON() {
		showCars(d, out, cars.Cars)
	}
	m, err := d.Morning(cars)
	if err != nil {
		return err
	}
	if out.AsJSON() {
		return out.JSON(m)
	}
	showMorning(out, m)
	return nil
}

func showCars(d *desk.Desk, out *terminal.Screen, cars []desk.Standing) {
	if out.Terminal() {
		at := d.Device()
		out.Head("%s%s · %s · %s", at.Name, inBay(at.Bay), orDash(at.Who), d.Now().Format("Mon "+time.DateOnly+" 15:04"))
		out.Say("%s in the shop", desk.Plural(len(cars), "car"))
	}
	var rows [][]string
	for _, st := range cars {
		rows = append(rows, rowOf(st))
	}
	if len(rows) > 0 {
		out.Records([]string{"CAR", "STATE", "JOBS", "BAY", "NEXT", "RED", "AMBER", "NEXT THING"}, rows)
	}
}

func rowOf(st desk.Standing) []string {
	name := desk.Describe([]string{st.Vehicle, st.Plate})
	band := st.Bands()
	if st.Held {
		band += ", HELD"
	}
	return []string{name, band, st.Jobs, orDash(st.Bay), orDash(st.Point), fmt.Sprint(st.Red), fmt.Sprint(st.Amber), st.Next}
}

// carBoard is one car to be read from two metres: the state of the fuel in
// large letters, then who and where, and the one next thing.
func carBoard(d *desk.Desk, out *terminal.Screen, name string) error {
	v, err := d.Car(name)
	if err != nil {
		return err
	}
	as, err := d.Assess(v)
	if err != nil {
		return err
	}
	st := desk.Stands(v, as)
	if out.AsJSON() {
		return out.JSON(st)
	}
	if !out.Terminal() {
		out.Table(nil, [][]string{rowOf(st)})
		return nil
	}
	place := "bay " + orDash(st.Bay)
	if st.Left {
		place = "NOT IN THE SHOP"
	}
	out.Head("%s · %s · %s · %s", strings.ToUpper(desk.Describe([]string{v.Data.Name, v.Data.Plate, tail(v.Data.VIN)})), place, orDash(d.Device().Who), d.Now().Format("Mon "+time.DateOnly+" 15:04"))
	out.Say("%s", v.Data.Description)
	rows := large(string(st.Band), out.Columns())
	if st.Held {
		rows = append(rows, large("HELD", out.Columns())...)
	}
	for _, l := range rows {
		if l == "" {
			out.Say("")
			continue
		}
		out.Head("%s", l)
	}
	if st.Why != "" {
		out.Say("")
		out.Head("%s", st.Why)
	}
	if st.Band == checklist.BandStop && st.Fuel == "OPEN" {
		out.Head("FUEL OPEN")
	}
	if st.Released != "" {
		out.Head("RELEASED by %s", st.Released)
	}
	for _, e := range st.Unseen {
		out.Head("the sign-off did not know of %s", e)
	}
	out.Say("")
	out.Head("NEXT POINT %s   RED %d   AMBER %d   DRAFT %d", orDash(st.Point), st.Red, st.Amber, st.Draft)
	out.Say("")
	out.Head("%s", st.Next)
	return nil
}
