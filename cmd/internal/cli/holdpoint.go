package cli

import (
	"context"

	"feedproof/cmd/internal/desk"
	"feedproof/cmd/internal/terminal"
	"feedproof/schema"

	"github.com/spf13/cobra"
)

func newHoldPointCommand(below ...*cobra.Command) *cobra.Command {
	return group("holdpoint", "locks on the next physical act: list, close, re-open", below...)
}

// pointListOptions are whose hold points are listed.
type pointListOptions struct{ car string }

func newPointListCommand(run func(context.Context, pointListOptions) error) *cobra.Command {
	return &cobra.Command{
		Use: "list CAR", Short: "how each hold point stands and what it wants", Args: asUsed,
		RunE: func(c *cobra.Command, args []string) error {
			return run(c.Context(), pointListOptions{car: args[0]})
		},
	}
}

func runPointList(_ context.Context, d *desk.Desk, out *terminal.Screen, o pointListOptions) error {
	c, err := d.Car(o.car)
	if err != nil {
		return err
	}
	a, err := d.Assess(c)
	if err != nil {
		return err
	}
	if out.AsJSON() {
		return out.JSON(list(a.Points))
	}
	top(out, c, a)
	for _, p := range a.Points {
		out.Say("%s %s %s: %s", pointBox(p.State), p.ID, p.Name, desk.Joined(string(p.State), p.Why, p.ClosedBy))
		for _, m := range p.Missing {
			out.Say("      wants %s", m)
		}
	}
	return nil
}

// pointCloseOptions are how a hold point is closed.
type pointCloseOptions struct {
	car, point string
	second     string
	delayed    bool // the second check was one's own
	late, at   string
}

func newPointCloseCommand(run func(context.Context, pointCloseOptions) error) *cobra.Command {
	var o pointCloseOptions
	c := &cobra.Command{
		Use: "close CAR POINT", Short: "close a hold point: the next act is free", Args: asUsed,
		Example: "  feedproof holdpoint close kestrel HP5 --second tech-1",
		RunE: func(c *cobra.Command, args []string) error {
			o.car, o.point = args[0], args[1]
			return run(c.Context(), o)
		},
	}
	f := c.Flags()
	f.StringVar(&o.second, "second", "", "second person, where two are asked for")
	f.BoolVar(&o.delayed, "delayed", false, "you work alone and made the second check yourself, 12 h later")
	f.StringVar(&o.late, "late", "", "why it is recorded after the act")
	f.StringVar(&o.at, "at", "", "when")
	either(c, "second", "delayed")
	return c
}

func runPointClose(_ context.Context, d *desk.Desk, out *terminal.Screen, o pointCloseOptions) error {
	c, err := d.Car(o.car)
	if err != nil {
		return err
	}
	data, err := d.Closing(c, o.point, o.second, o.delayed)
	if err != nil {
		return err
	}
	data.Late = o.late
	at, err := moment(d.Now(), o.at)
	if err != nil {
		return err
	}
	return record(d, out, c, at, data)
}

// pointReopenOptions are why a hold point is open again.
type pointReopenOptions struct{ car, point, why, at string }

func newPointReopenCommand(run func(context.Context, pointReopenOptions) error) *cobra.Command {
	var o pointReopenOptions
	c := &cobra.Command{
		Use: "reopen CAR POINT", Short: "re-open a hold point", Args: asUsed,
		RunE: func(c *cobra.Command, args []string) error {
			o.car, o.point = args[0], args[1]
			return run(c.Context(), o)
		},
	}
	c.Flags().StringVar(&o.why, "why", "", "why")
	c.Flags().StringVar(&o.at, "at", "", "when")
	return c
}

func runPointReopen(_ context.Context, d *desk.Desk, out *terminal.Screen, o pointReopenOptions) error {
	if o.why == "" {
		return wrong("feedproof holdpoint reopen "+o.car+" "+o.point+` --why ".."`, "--why: is missing")
	}
	c, err := d.Car(o.car)
	if err != nil {
		return err
	}
	p, _, err := d.HoldPoint(c, o.point)
	if err != nil {
		return err
	}
	at, err := moment(d.Now(), o.at)
	if err != nil {
		return err
	}
	return record(d, out, c, at, schema.HoldPointData{Action: schema.ReopenPoint, Point: p.ID, Why: o.why})
}
