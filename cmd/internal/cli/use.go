package cli

import (
	"context"
	"strings"

	"feedproof/cmd/internal/desk"
	"feedproof/cmd/internal/guide"
	"feedproof/cmd/internal/language"
	"feedproof/cmd/internal/terminal"

	"github.com/spf13/cobra"
)

// useOptions are who is on this machine, and what they are used to.
type useOptions struct {
	person          string
	bay             string
	moved           bool // the bay was named, if only as none
	units, language string
}

func newUseCommand(run func(context.Context, useOptions) error) *cobra.Command {
	var o useOptions
	c := &cobra.Command{
		Use: "use PERSON", Short: "say who is on this machine, and in which bay it stands", Args: asUsed,
		Example: "  feedproof use tech-1 --bay 2\n  feedproof use tech-1 --units us --language en",
		RunE: func(c *cobra.Command, args []string) error {
			o.person, o.moved = args[0], c.Flags().Changed("bay")
			return run(c.Context(), o)
		},
	}
	c.Flags().StringVar(&o.bay, "bay", "", "bay this machine stands in")
	c.Flags().StringVar(&o.units, "units", "", "system of units that this person sees first: metric, us")
	c.Flags().StringVar(&o.language, "language", "", "language of work and sheets for this person: "+strings.Join(language.Codes(), ", "))
	return c
}

func runUse(_ context.Context, d *desk.Desk, out *terminal.Screen, o useOptions) error {
	m, err := d.Person(o.person)
	if err != nil {
		return err
	}
	if err := prefer(d, m.Person, o.units, o.language); err != nil {
		return err
	}
	at := d.Device()
	at.Who = m.Person
	if o.moved {
		at.Bay = o.bay
	}
	if err := d.Store().SetDevice(at); err != nil {
		return err
	}
	if out.AsJSON() {
		return out.JSON(at)
	}
	out.Say("%s (%s) is on %s%s", m.Person, m.Name, at.Name, inBay(at.Bay))
	return nil
}

// prefer keeps what a person is used to, on this machine. Facts are kept as
// they are typed, whatever is preferred.
func prefer(d *desk.Desk, person, units, lang string) error {
	if units == "" && lang == "" {
		return nil
	}
	h := d.Habits(person)
	for _, p := range []struct {
		flag, text string
		values     []string
		to         *string
	}{{"units", units, []string{guide.Metric, guide.US}, &h.System}, {"language", lang, language.Codes(), &h.Language}} {
		if p.text == "" {
			continue
		}
		value, err := oneOf(p.text, p.values)
		if err != nil {
			return wrong("--"+p.flag+" "+p.values[0], "--%s: %v", p.flag, err)
		}
		*p.to = value
	}
	if units != "" {
		h.Units = nil // what was picked in the other system
	}
	return d.Learn(person, h)
}

func inBay(bay string) string {
	if bay == "" {
		return ""
	}
	return ", bay " + bay
}
