package cli

import (
	"strings"

	"feedproof/cmd/internal/guide"
	"feedproof/cmd/internal/language"

	"github.com/spf13/cobra"
)

func (a *app) useCommand() *cobra.Command {
	var bay string
	var like struct{ units, language string }
	c := &cobra.Command{
		Use: "use PERSON", Short: "say who is on this machine, and in which bay it stands", Args: takes("PERSON"),
		RunE: func(c *cobra.Command, args []string) error {
			s, err := a.open()
			if err != nil {
				return err
			}
			m, err := s.Person(args[0])
			if err != nil {
				return err
			}
			if err := s.prefer(m.Person, like.units, like.language); err != nil {
				return err
			}
			d := s.Device()
			d.Who = m.Person
			if c.Flags().Changed("bay") {
				d.Bay = bay
			}
			if err := s.Store().SetDevice(d); err != nil {
				return err
			}
			if s.flags.json {
				return s.JSON(d)
			}
			s.Say("%s (%s) is on %s%s", m.Person, m.Name, d.Name, inBay(d.Bay))
			return nil
		},
	}
	c.Flags().StringVar(&bay, "bay", "", "bay this machine stands in")
	c.Flags().StringVar(&like.units, "units", "", "system of units that this person sees first: metric, us")
	c.Flags().StringVar(&like.language, "language", "", "language of work and sheets for this person: "+strings.Join(language.Codes(), ", "))
	return c
}

// prefer keeps what a person is used to, on this machine. Facts are kept as
// they are typed, whatever is preferred.
func (s *session) prefer(person, units, lang string) error {
	if units == "" && lang == "" {
		return nil
	}
	h := s.Habits(person)
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
	return s.Learn(person, h)
}

func inBay(bay string) string {
	if bay == "" {
		return ""
	}
	return ", bay " + bay
}
