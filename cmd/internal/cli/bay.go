package cli

import (
	"fmt"
	"slices"
	"strings"

	"feedproof/schema"

	"github.com/spf13/cobra"
)

func (a *app) bayCommand() *cobra.Command {
	var d schema.BayData
	c := &cobra.Command{
		Use: "bay [BAY]", Short: "describe a bay and its neighbours, or list the bays", Args: cobra.MaximumNArgs(1),
		Example: `  feedproof bay 2 --air hall --neighbour 1 --distance "4 m"`,
		RunE: func(_ *cobra.Command, args []string) error {
			s, err := a.open()
			if err != nil {
				return err
			}
			if len(args) == 0 {
				return s.listBays()
			}
			d.Bay = args[0]
			if me := s.shop.Device(); me.Bay == d.Bay {
				d.Device, d.Knows = me.Name, schema.Knowledge()
			}
			return s.put(schema.ShopRecord, s.shopID(), s.Now(), fmt.Sprintf("bay %s: recorded", d.Bay), d)
		},
	}
	f := c.Flags()
	f.StringVar(&d.AirSpace, "air", "", "air space: bays with the same word share their air")
	f.StringSliceVar(&d.Neighbours, "neighbour", nil, "neighbouring bays")
	measure(f, &d.Distance, "distance", "to the nearest neighbour")
	return c
}

func (s *session) listBays() error {
	latest, err := latestOf(s, func(d schema.BayData) string { return d.Bay })
	if err != nil || s.flags.json {
		return listJSON(s, latest, err)
	}
	var rows [][]string
	for _, d := range latest {
		rows = append(rows, []string{d.Bay, d.AirSpace, strings.Join(d.Neighbours, " "), d.Distance.String(), programOf(d)})
	}
	s.Table([]string{"BAY", "AIR", "NEIGHBOURS", "DISTANCE", "PROGRAM"}, rows)
	return nil
}

// programOf says how the program of a bay's machine, as it was last recorded,
// stands beside this one.
func programOf(d schema.BayData) string {
	if len(d.Knows) == 0 {
		return ""
	}
	ours := schema.Knowledge()
	lacks, more := without(ours, d.Knows), without(d.Knows, ours)
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

// without counts what one list has and the other has not.
func without(list, other []string) int {
	n := 0
	for _, item := range list {
		if !slices.Contains(other, item) {
			n++
		}
	}
	return n
}

// latestOf is the last entry of a kind for each name, in the shop's own record.
func latestOf[T schema.Data](s *session, name func(T) string) ([]T, error) {
	r, err := s.shop.Record(schema.ShopRecord, "")
	if err != nil {
		return nil, err
	}
	var out []T
	for _, e := range r.Entries {
		d, err := schema.Into[T](e)
		if err != nil {
			continue
		}
		out = append(slices.DeleteFunc(out, func(o T) bool { return name(o) == name(d) }), d)
	}
	return out, nil
}

// listJSON prints a list as JSON, an empty one as [].
func listJSON[T any](s *session, list []T, err error) error {
	if err != nil {
		return err
	}
	if list == nil {
		list = []T{}
	}
	return s.JSON(list)
}
