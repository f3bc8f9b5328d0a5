package cli

import "github.com/spf13/cobra"

func (a *app) useCommand() *cobra.Command {
	var bay string
	c := &cobra.Command{
		Use: "use PERSON", Short: "say who is on this machine, and in which bay it stands", Args: takes("PERSON"),
		RunE: func(c *cobra.Command, args []string) error {
			s, err := a.open()
			if err != nil {
				return err
			}
			m, err := s.person(args[0])
			if err != nil {
				return err
			}
			d := s.shop.Device()
			d.Who = m.Person
			if c.Flags().Changed("bay") {
				d.Bay = bay
			}
			if err := s.shop.SetDevice(d); err != nil {
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
	return c
}

func inBay(bay string) string {
	if bay == "" {
		return ""
	}
	return ", bay " + bay
}
