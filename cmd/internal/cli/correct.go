package cli

import (
	"context"

	"feedproof/cmd/internal/desk"
	"feedproof/cmd/internal/facts"
	"feedproof/cmd/internal/terminal"
	"feedproof/schema"

	"github.com/spf13/cobra"
)

// correctOptions are an entry that was wrong.
type correctOptions struct{ car, entry, why, instead, to string }

func newCorrectCommand(run func(context.Context, correctOptions) error) *cobra.Command {
	var o correctOptions
	c := &cobra.Command{
		Use: "correct CAR ENTRY", Short: "take an entry back, or name the right one; nothing is erased", Args: asUsed,
		Long: "Take an entry back, or name the right one. Nothing is erased: the old entry\nstays in the record and counts no longer. With --to it is written into the other\ncar too, and both records say so.\nENTRY is its number (#12), its id, or last.",
		Example: `  feedproof correct kestrel last --why "slip of the finger"
  feedproof correct kestrel 12 --instead 14 --why "read on the wrong gauge"
  feedproof correct kestrel 12 --to osprey --why "belongs to the other car"`,
		RunE: func(c *cobra.Command, args []string) error {
			o.car, o.entry = args[0], args[1]
			return run(c.Context(), o)
		},
	}
	f := c.Flags()
	f.StringVar(&o.why, "why", "", "why it was wrong")
	f.StringVar(&o.instead, "instead", "", "the entry that holds the right value")
	f.StringVar(&o.to, "to", "", "the car it belongs to: it moves there, with a trace in both")
	either(c, "instead", "to")
	return c
}

func runCorrect(_ context.Context, d *desk.Desk, out *terminal.Screen, o correctOptions) error {
	if o.why == "" {
		return wrong(`feedproof correct `+o.car+` `+o.entry+` --why ".."`, "--why: is missing")
	}
	c, err := d.Car(o.car)
	if err != nil {
		return err
	}
	e, err := c.Entry(o.entry)
	if err != nil {
		return err
	}
	if o.to != "" {
		return move(d, out, c, e, o)
	}
	data := schema.CorrectData{Entry: e.ID, Action: schema.Void, Why: o.why}
	if o.instead != "" {
		right, err := c.Entry(o.instead)
		if err != nil {
			return err
		}
		data.Action, data.By = schema.Replace, right.ID
	}
	out.Say("taken back: #%d %s", e.Counter, facts.Fact(e))
	return record(d, out, c, d.Now(), data)
}

func move(d *desk.Desk, out *terminal.Screen, from desk.Car, e schema.Entry, o correctOptions) error {
	written, err := d.Move(from, e, o.to, o.why)
	if len(written) > 0 {
		out.Say("moved to %s: #%d %s", written[0].Car.Data.Name, e.Counter, facts.Fact(e))
	}
	return showEach(out, func(yield func(desk.Recorded, error) bool) {
		for _, w := range written {
			if !yield(w, nil) {
				return
			}
		}
		if err != nil {
			yield(desk.Recorded{}, err)
		}
	})
}
