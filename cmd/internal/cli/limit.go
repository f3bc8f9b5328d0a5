package cli

import (
	"context"
	"fmt"
	"strings"

	"feedproof/checklist/rules"
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
		Use: "limit [LIMIT VALUE ...]", Short: "tighten a limit for this shop, or list them",
		Long:    "Tighten a limit for this shop, or list what is tightened. A lead does this.\nIt is a limit of a rule, with its unit, tighter than the program's; what would\nchange nothing is refused.",
		Example: `  feedproof limit L06 "0.05 bar" --why "customer cars only"`,
		Args:    asUsed,
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
	data, change, err := limitOf(o)
	if err != nil {
		return err
	}
	return putOwn(ctx, d, out, fmt.Sprintf("limit %s: %s in this shop from now on", data.Limit, change), data)
}

// limitOf is the limit that was typed and what it changes. A limit that would
// change nothing is refused, with the reason.
func limitOf(o limitOptions) (data schema.LimitData, change string, err error) {
	limit, value := o.words[0], strings.Join(o.words[1:], " ")
	all := rules.All()
	i, err := desk.PickExact("limit", limit, all, func(r rules.Rule) string { return r.ID })
	if err != nil {
		return data, "", err
	}
	r := all[i]
	if r.Shop == nil {
		return data, "", wrong("feedproof explain "+r.ID+"; "+tightened(), "limit %s: its limits are fixed: no shop changes them", r.ID)
	}
	help := fmt.Sprintf("feedproof limit %s VALUE --why .. (the program's is %s)", r.ID, r.Shop)
	w, err := quantity.Read(value)
	if err != nil {
		return data, "", wrong(help, "limit %s: %v", r.ID, err)
	}
	if w.Unit == "" {
		return data, "", wrong(help, "limit %s: %s has no unit", r.ID, w.Value)
	}
	data = schema.LimitData{Limit: r.ID, Value: w.Value, Unit: w.Unit, Why: o.why}
	change, err = rules.Own(data)
	switch {
	case err != nil:
		return data, "", wrong(help, "limit %s: %v", r.ID, err)
	case o.why == "":
		return data, "", wrong(fmt.Sprintf("feedproof limit %s %q --why ..", r.ID, value), "--why: is missing")
	}
	return data, change, nil
}

// tightened names the rules of which a shop may tighten a limit.
func tightened() string {
	var ids []string
	for _, r := range rules.Tightened() {
		ids = append(ids, r.ID)
	}
	return "a shop may tighten " + strings.Join(ids, ", ")
}

// limitJSON is a limit and what it does, as --json lists it.
type limitJSON struct {
	schema.LimitData
	Effect string `json:"effect"`
}

// effect says what a limit does; one that was written when the rules were
// others, or elsewhere, may do nothing.
func effect(d schema.LimitData) string {
	change, err := rules.Own(d)
	if err != nil {
		return "none: " + err.Error()
	}
	return change
}

func listLimits(d *desk.Desk, out *terminal.Screen) error {
	limits, err := d.Limits()
	if err != nil {
		return err
	}
	lines := []limitJSON{}
	var rows [][]string
	for _, l := range limits {
		lines = append(lines, limitJSON{l, effect(l)})
		rows = append(rows, []string{l.Limit, strings.TrimSpace(l.Value + " " + l.Unit), effect(l), l.Why})
	}
	if out.AsJSON() {
		return out.JSON(lines)
	}
	out.Table([]string{"LIMIT", "VALUE", "EFFECT", "WHY"}, rows)
	return nil
}
