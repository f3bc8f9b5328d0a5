package cli

import (
	"context"
	"fmt"
	"strings"

	"feedproof/cmd/internal/desk"
	"feedproof/cmd/internal/terminal"
	"feedproof/schema"
	"feedproof/schema/quantity"

	"github.com/spf13/cobra"
)

// limitOptions are a limit and its value; without words the limits are listed.
type limitOptions struct {
	words []string // LIMIT VALUE
	why   string
}

func newLimitCommand(run func(context.Context, limitOptions) error) *cobra.Command {
	var o limitOptions
	c := &cobra.Command{
		Use: "limit [LIMIT VALUE]", Short: "tighten a limit for this shop, or list them",
		Long:    "Tighten a limit for this shop, or list what is tightened. A lead does this.\nLoosening what the program fixes has no effect.",
		Example: `  feedproof limit L06 "0.05 bar" --why "customer cars only"`,
		Args:    cobra.ArbitraryArgs,
		RunE: func(c *cobra.Command, args []string) error {
			o.words = args
			return run(c.Context(), o)
		},
	}
	c.Flags().StringVar(&o.why, "why", "", "why")
	return c
}

func runLimit(ctx context.Context, d *desk.Desk, out *terminal.Screen, o limitOptions) error {
	if len(o.words) == 0 {
		return listLimits(d, out)
	}
	limit, value := o.words[0], strings.Join(o.words[1:], " ")
	w, err := quantity.Read(value)
	if err != nil {
		return wrong(`feedproof limit L06 "0.05 bar" --why ..`, "limit %s: %v", limit, err)
	}
	if o.why == "" {
		return wrong(fmt.Sprintf("feedproof limit %s %q --why ..", limit, value), "--why: is missing")
	}
	data := schema.LimitData{Limit: strings.ToUpper(limit), Value: w.Value, Unit: w.Unit, Why: o.why}
	return putOwn(ctx, d, out, fmt.Sprintf("limit %s: %s in this shop from now on", data.Limit, w), data)
}

func listLimits(d *desk.Desk, out *terminal.Screen) error {
	limits, err := d.Limits()
	if err != nil {
		return err
	}
	if out.AsJSON() {
		return out.JSON(list(limits))
	}
	var rows [][]string
	for _, l := range limits {
		rows = append(rows, []string{l.Limit, strings.TrimSpace(l.Value + " " + l.Unit), l.Why})
	}
	out.Table([]string{"LIMIT", "VALUE", "WHY"}, rows)
	return nil
}
