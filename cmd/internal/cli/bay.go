package cli

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"feedproof/cmd/internal/desk"
	"feedproof/cmd/internal/terminal"
	"feedproof/schema"

	"github.com/spf13/cobra"
)

// bayOptions are a bay as it is described; without one the bays are listed.
type bayOptions struct {
	one  bool
	data schema.BayData
}

func newBayCommand(run func(context.Context, bayOptions) error) *cobra.Command {
	var o bayOptions
	c := &cobra.Command{
		Use: "bay [BAY]", Short: "describe a bay and its neighbours, or list the bays", Args: asUsed,
		Example: `  feedproof bay 2 --air hall --neighbour 1 --distance "4 m"`,
		RunE: func(c *cobra.Command, args []string) error {
			o.one, o.data.Bay = len(args) == 1, strings.Join(args, "")
			return run(c.Context(), o)
		},
	}
	f := c.Flags()
	f.StringVar(&o.data.AirSpace, "air", "", "air space: bays with the same word share their air")
	f.StringSliceVar(&o.data.Neighbours, "neighbour", nil, "neighbouring bays")
	measure(f, &o.data.Distance, "distance", "to the nearest neighbour")
	return c
}

func runBay(ctx context.Context, d *desk.Desk, out *terminal.Screen, o bayOptions) error {
	if me := d.Device(); o.one && me.Bay == o.data.Bay {
		o.data.Device, o.data.Knows = me.Name, schema.Knowledge()
	}
	if o.one {
		return putOwn(ctx, d, out, fmt.Sprintf("bay %s: recorded", o.data.Bay), o.data)
	}
	bays, err := d.Bays()
	if err != nil {
		return err
	}
	if out.AsJSON() {
		return out.JSON(list(bays))
	}
	var rows [][]string
	for _, b := range bays {
		rows = append(rows, []string{b.Bay, b.AirSpace, strings.Join(b.Neighbours, " "), b.Distance.String(), programOf(b)})
	}
	out.Table([]string{"BAY", "AIR", "NEIGHBOURS", "DISTANCE", "PROGRAM"}, rows)
	return nil
}

// programOf says how the program of a bay's machine, as it was last recorded,
// stands beside this one.
func programOf(d schema.BayData) string {
	if len(d.Knows) == 0 {
		return ""
	}
	ours := schema.Knowledge()
	lacks, more := absent(d.Knows, ours), absent(ours, d.Knows)
	switch {
	case lacks > 0 && more > 0:
		return fmt.Sprintf("%s: another than here, lacks %d, knows %d more", d.Device, lacks, more)
	case lacks > 0:
		return fmt.Sprintf("%s: behind, lacks %d things that this one writes", d.Device, lacks)
	case more > 0:
		return fmt.Sprintf("%s: ahead of this machine, update it", d.Device)
	}
	return d.Device + ": as here"
}

// absent counts what one list has and the other has not.
func absent(other, list []string) int {
	n := 0
	for _, item := range list {
		if !slices.Contains(other, item) {
			n++
		}
	}
	return n
}
