package cli

import (
	"context"
	"fmt"
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
		Use: "bay [BAY]", Short: "describe a bay and its neighbours, or list the bays", Args: cobra.MaximumNArgs(1),
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
		rows = append(rows, []string{b.Bay, b.AirSpace, strings.Join(b.Neighbours, " "), b.Distance.String()})
	}
	out.Table([]string{"BAY", "AIR", "NEIGHBOURS", "DISTANCE"}, rows)
	return nil
}
