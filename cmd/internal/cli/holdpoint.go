package cli

import (
	"feedproof/checklist"
	"feedproof/cmd/internal/desk"
	"feedproof/schema"

	"github.com/spf13/cobra"
)

func (a *app) holdpointCommand() *cobra.Command {
	return group("holdpoint", "locks on the next physical act: list, close, re-open", a.holdpointList(), a.holdpointClose(), a.holdpointReopen())
}

func (a *app) holdpointList() *cobra.Command {
	return &cobra.Command{
		Use: "list CAR", Short: "how each hold point stands and what it wants", Args: takes("CAR"),
		RunE: func(_ *cobra.Command, args []string) error {
			s, v, err := a.openCar(args[0])
			if err != nil {
				return err
			}
			as, err := s.Assess(v)
			if err != nil {
				return err
			}
			if s.flags.json {
				return s.JSON(list(as.Points))
			}
			s.top(v, as)
			for _, p := range as.Points {
				s.Say("%s %s %s: %s", pointBox(p.State), p.ID, p.Name, desk.Joined(string(p.State), p.Why, p.ClosedBy))
				for _, m := range p.Missing {
					s.Say("      wants %s", m)
				}
			}
			return nil
		},
	}
}

func (a *app) holdpointClose() *cobra.Command {
	d := schema.HoldPointData{Action: schema.ClosePoint}
	var at string
	var delayed bool
	c := &cobra.Command{
		Use: "close CAR POINT", Short: "close a hold point: the next act is free", Args: takes("CAR", "POINT"),
		Example: "  feedproof holdpoint close kestrel HP5 --second tech-1",
		RunE: func(_ *cobra.Command, args []string) error {
			s, err := a.open()
			if err != nil {
				return err
			}
			return s.closePoint(args[0], args[1], d, delayed, at)
		},
	}
	f := c.Flags()
	f.StringVar(&d.Second, "second", "", "second person, where two are asked for")
	f.BoolVar(&delayed, "delayed", false, "you work alone and made the second check yourself, 12 h later")
	f.StringVar(&d.Late, "late", "", "why it is recorded after the act")
	f.StringVar(&at, "at", "", "when")
	either(c, "second", "delayed")
	return c
}

func (s *session) closePoint(carName, point string, d schema.HoldPointData, delayed bool, at string) error {
	v, a, p, err := s.point(carName, point)
	if err != nil {
		return err
	}
	d.Point = p.ID
	me, err := s.Who()
	if err != nil {
		return err
	}
	if d.Second != "" {
		m, err := s.Person(d.Second)
		if err != nil {
			return err
		}
		d.Second = m.Person
	}
	if delayed || d.Second == me.Person {
		d.Second, d.Why = me.Person, checklist.SamePersonDelayed
	}
	if found := checklist.CanClose(a, d.Point, me.Person, d.Second); len(found) > 0 {
		return &desk.Error{Kind: desk.Refused, Wrong: d.Point + " stays locked: " + desk.Plural(len(found), "thing") + " missing; nothing was changed", Found: desk.Named(found, v.Data.Name), Mend: "feedproof explain " + d.Point}
	}
	d.Rests = checklist.Rests(a, d.Point)
	when, err := moment(s.Now(), at)
	if err != nil {
		return err
	}
	return s.record(v, when, d)
}

func (s *session) point(carName, point string) (desk.Car, checklist.Assessment, checklist.Point, error) {
	v, err := s.Car(carName)
	if err != nil {
		return v, checklist.Assessment{}, checklist.Point{}, err
	}
	a, err := s.Assess(v)
	if err != nil {
		return v, a, checklist.Point{}, err
	}
	if len(a.Points) == 0 {
		return v, a, checklist.Point{}, failed("feedproof visit open "+desk.Quoted(v.Data.Name)+" --kind a,b", "%s: no visit is open", v.Data.Name)
	}
	i, err := desk.PickExact("hold point", point, a.Points, func(p checklist.Point) string { return p.ID })
	if err != nil {
		return v, a, checklist.Point{}, err
	}
	return v, a, a.Points[i], nil
}

func (a *app) holdpointReopen() *cobra.Command {
	d := schema.HoldPointData{Action: schema.ReopenPoint}
	var at string
	c := &cobra.Command{
		Use: "reopen CAR POINT", Short: "re-open a hold point", Args: takes("CAR", "POINT"),
		RunE: func(_ *cobra.Command, args []string) error {
			s, err := a.open()
			if err != nil {
				return err
			}
			if d.Why == "" {
				return wrong("feedproof holdpoint reopen "+args[0]+" "+args[1]+` --why ".."`, "--why: is missing")
			}
			v, _, p, err := s.point(args[0], args[1])
			if err != nil {
				return err
			}
			d.Point = p.ID
			when, err := moment(s.Now(), at)
			if err != nil {
				return err
			}
			return s.record(v, when, d)
		},
	}
	c.Flags().StringVar(&d.Why, "why", "", "why")
	c.Flags().StringVar(&at, "at", "", "when")
	return c
}
