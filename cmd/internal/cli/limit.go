package cli

import (
	"fmt"
	"strings"

	"feedproof/schema"

	"github.com/spf13/cobra"
)

func (a *app) limitCommand() *cobra.Command {
	var why string
	c := &cobra.Command{
		Use: "limit [LIMIT VALUE]", Short: "tighten a limit for this shop, or list them",
		Long:    "Tighten a limit for this shop, or list what is tightened. A lead does this.\nLoosening what the program fixes has no effect.",
		Example: `  feedproof limit L06 "0.05 bar" --why "customer cars only"`,
		Args:    cobra.ArbitraryArgs,
		RunE: func(_ *cobra.Command, args []string) error {
			s, err := a.open()
			if err != nil {
				return err
			}
			if len(args) == 0 {
				return s.listLimits()
			}
			return s.setLimit(args[0], strings.Join(args[1:], " "), why)
		},
	}
	c.Flags().StringVar(&why, "why", "", "why")
	return c
}

func (s *session) setLimit(limit, value, why string) error {
	w, err := readAny(value)
	if err != nil {
		return wrong(`feedproof limit L06 "0.05 bar" --why ..`, "limit %s: %v", limit, err)
	}
	if why == "" {
		return wrong(fmt.Sprintf("feedproof limit %s %q --why ..", limit, value), "--why: is missing")
	}
	d := schema.LimitData{Limit: strings.ToUpper(limit), Value: w.Value, Unit: w.Unit, Why: why}
	return s.put(schema.ShopRecord, s.shopID(), s.Now(), fmt.Sprintf("limit %s: %s in this shop from now on", d.Limit, w), d)
}

func (s *session) listLimits() error {
	latest, err := latestOf(s, func(d schema.LimitData) string { return d.Limit })
	if err != nil || s.flags.json {
		return listJSON(s, latest, err)
	}
	var rows [][]string
	for _, d := range latest {
		rows = append(rows, []string{d.Limit, strings.TrimSpace(d.Value + " " + d.Unit), d.Why})
	}
	s.Table([]string{"LIMIT", "VALUE", "WHY"}, rows)
	return nil
}
