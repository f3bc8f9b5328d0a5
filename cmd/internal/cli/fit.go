package cli

import (
	"fmt"

	"feedproof/schema"

	"github.com/spf13/cobra"
)

func (a *app) fitCommand() *cobra.Command {
	var d schema.FitData
	var at string
	var opens bool
	c := &cobra.Command{
		Use: "fit CAR POSITION [PART]", Short: "record a component going in", Args: cobra.RangeArgs(2, 3),
		Example: "  feedproof fit kestrel pump PUMP-A\n  feedproof fit kestrel injectors INJ-1000 --count 4\n  feedproof fit kestrel filter --no-part \"kept from the car\"",
		RunE: func(_ *cobra.Command, args []string) error {
			s, err := a.open()
			if err != nil {
				return err
			}
			if len(args) == 3 {
				d.Part = args[2]
			}
			if opens {
				d.Opens = schema.Yes
			}
			return s.fit(args[0], args[1], d, at)
		},
	}
	f := c.Flags()
	f.IntVar(&d.Count, "count", 0, "how many")
	f.StringSliceVar(&d.Serials, "serial", nil, "serial numbers")
	f.StringVar(&d.WhyNone, "no-part", "", `why there is no part record: "untraceable", "customer's", "kept from the car"`)
	f.BoolVar(&opens, "opens", false, "fitting it opened a fuel joint under pressure")
	f.StringVar(&d.Note, "note", "", "in words")
	f.StringVar(&at, "at", "", "when it was fitted")
	return c
}

func (s *session) fit(carName, position string, d schema.FitData, at string) error {
	v, err := s.car(carName)
	if err != nil {
		return err
	}
	d.Position = spaced(position)
	if d.Part == "" && d.WhyNone == "" {
		return wrong(fmt.Sprintf("feedproof fit %s %q PART, or --no-part WHY", carName, position), "%s: which part went in", position)
	}
	if d.Part != "" {
		p, err := s.part(d.Part)
		if err != nil {
			return err
		}
		d.Part = p.ID
	}
	when, err := s.moment(at)
	if err != nil {
		return err
	}
	return s.record(v, when, d)
}
