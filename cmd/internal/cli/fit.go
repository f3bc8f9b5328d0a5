package cli

import (
	"context"
	"fmt"

	"feedproof/cmd/internal/desk"
	"feedproof/cmd/internal/terminal"
	"feedproof/schema"

	"github.com/spf13/cobra"
)

// fitOptions are a component that went in.
type fitOptions struct {
	car, position string
	data          schema.FitData // Part as it was typed
	opens         bool
	joins         []string
	at            string
}

func newFitCommand(run func(context.Context, fitOptions) error) *cobra.Command {
	var o fitOptions
	c := &cobra.Command{
		Use: "fit CAR POSITION [PART]", Short: "record a component going in", Args: asUsed,
		Example: "  feedproof fit kestrel pump PUMP-A\n  feedproof fit kestrel injectors INJ-1000 --count 4\n  feedproof fit kestrel filter --no-part \"kept from the car\"",
		RunE: func(c *cobra.Command, args []string) error {
			o.car, o.position = args[0], args[1]
			if len(args) == 3 {
				o.data.Part = args[2]
			}
			return run(c.Context(), o)
		},
	}
	f := c.Flags()
	f.IntVar(&o.data.Count, "count", 0, "how many")
	f.StringSliceVar(&o.data.Serials, "serial", nil, "serial numbers")
	f.StringVar(&o.data.WhyNone, "no-part", "", `why there is no part record: "untraceable", "customer's", "kept from the car"`)
	f.StringArrayVar(&o.joins, "join", nil, `what an end joins: in="post filter.out", d=plug, a="pump.b:ear clamp", as often as needed`)
	f.BoolVar(&o.opens, "opens", false, "fitting it opened a fuel joint under pressure")
	f.StringVar(&o.data.Note, "note", "", "in words")
	f.StringVar(&o.at, "at", "", "when it was fitted")
	return c
}

func runFit(_ context.Context, d *desk.Desk, out *terminal.Screen, o fitOptions) error {
	c, err := d.Car(o.car)
	if err != nil {
		return err
	}
	data := o.data
	data.Position = o.position
	if data.Joins, err = joins(o.joins); err != nil {
		return err
	}
	if o.opens {
		data.Opens = schema.Yes
	}
	if data.Part == "" && data.WhyNone == "" {
		return wrong(fmt.Sprintf("feedproof fit %s %q PART, or --no-part WHY", o.car, o.position), "%s: which part went in", o.position)
	}
	if data.Part != "" {
		p, err := d.Part(data.Part)
		if err != nil {
			return err
		}
		data.Part = p.ID
	}
	at, err := moment(d.Now(), o.at)
	if err != nil {
		return err
	}
	return record(d, out, c, at, data)
}
