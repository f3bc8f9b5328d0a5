package cli

import (
	"context"

	"feedproof/checklist"
	"feedproof/cmd/internal/desk"
	"feedproof/cmd/internal/terminal"
	"feedproof/schema"

	"github.com/spf13/cobra"
)

// handoverOptions are a car, and who takes it over, if anybody does now.
type handoverOptions struct{ car, to string }

func newHandoverCommand(run func(context.Context, handoverOptions) error) *cobra.Command {
	var o handoverOptions
	c := &cobra.Command{
		Use: "handover CAR", Short: "shift change: what is open, off or out, begun, not answered", Args: asUsed,
		Long:    "Say how a car stands for whoever takes over: which joints are open, whether the\nbattery is off and the tank out, what was begun and not finished, what is not\nanswered. --to writes down who took the car.",
		Example: "  feedproof handover kestrel\n  feedproof handover kestrel --to tech-2",
		RunE: func(c *cobra.Command, args []string) error {
			o.car = args[0]
			return run(c.Context(), o)
		},
	}
	c.Flags().StringVar(&o.to, "to", "", "who takes the car")
	return c
}

func runHandover(_ context.Context, d *desk.Desk, out *terminal.Screen, o handoverOptions) error {
	c, err := d.Car(o.car)
	if err != nil {
		return err
	}
	a, err := d.Assess(c)
	if err != nil {
		return err
	}
	shift := checklist.HandOver(a)
	shift.Unanswered = list(desk.Named(shift.Unanswered, c.Data.Name))
	shift.Next = desk.ForCar(shift.Next, c.Data.Name)
	if o.to != "" {
		return handTo(d, out, c, shift, o.to)
	}
	if out.AsJSON() {
		return out.JSON(shift)
	}
	top(out, c, a)
	showShift(out, shift, c.Data.Name)
	return nil
}

func showShift(out *terminal.Screen, shift checklist.Shift, car string) {
	for _, text := range shift.Physical {
		out.Say("▲ %s", text)
	}
	if len(shift.Physical) == 0 {
		out.Say("● nothing is open, off or out by the record")
	}
	for _, text := range shift.Begun {
		out.Say("begun, not finished: %s", text)
	}
	out.Findings(shift.Unanswered)
	if shift.Waiting > 0 {
		out.Say("%s waiting for a record: feedproof check %s", desk.Plural(shift.Waiting, "thing"), desk.Quoted(car))
	}
	out.Say("Next: %s", shift.Next)
}

// handTo writes down who took the car, and what was said about it.
func handTo(d *desk.Desk, out *terminal.Screen, c desk.Car, shift checklist.Shift, to string) error {
	me, err := d.Who()
	if err != nil {
		return err
	}
	taker, err := d.Person(to)
	if err != nil {
		return err
	}
	if err := record(d, out, c, d.Now(), schema.NoteData{Text: shift.Note(me.Person, taker.Person)}); err != nil {
		return err
	}
	if !out.AsJSON() {
		showShift(out, shift, c.Data.Name)
		out.Say("to put %s on this machine: feedproof use %s", taker.Name, taker.Person)
	}
	return nil
}
