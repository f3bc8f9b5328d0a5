package cli

import (
	"feedproof/checklist"
	"feedproof/cmd/internal/desk"
	"feedproof/schema"

	"github.com/spf13/cobra"
)

func (a *app) handoverCommand() *cobra.Command {
	var to string
	c := &cobra.Command{
		Use: "handover CAR", Short: "shift change: what is open, off or out, begun, not answered", Args: takes("CAR"),
		Long:    "Say how a car stands for whoever takes over: which joints are open, whether the\nbattery is off and the tank out, what was begun and not finished, what is not\nanswered. --to writes down who took the car.",
		Example: "  feedproof handover kestrel\n  feedproof handover kestrel --to tech-2",
		RunE: func(_ *cobra.Command, args []string) error {
			s, err := a.open()
			if err != nil {
				return err
			}
			return s.handover(args[0], to)
		},
	}
	c.Flags().StringVar(&to, "to", "", "who takes the car")
	return c
}

func (s *session) handover(carName, to string) error {
	v, err := s.Car(carName)
	if err != nil {
		return err
	}
	a, err := s.Assess(v)
	if err != nil {
		return err
	}
	shift := checklist.HandOver(a)
	shift.Unanswered = list(desk.Named(shift.Unanswered, v.Data.Name))
	shift.Next = desk.ForCar(shift.Next, v.Data.Name)
	if to != "" {
		return s.handTo(v, shift, to)
	}
	if s.flags.json {
		return s.JSON(shift)
	}
	s.top(v, a)
	s.sayShift(shift, v.Data.Name)
	return nil
}

func (s *session) sayShift(shift checklist.Shift, name string) {
	for _, text := range shift.Physical {
		s.Say("▲ %s", text)
	}
	if len(shift.Physical) == 0 {
		s.Say("● nothing is open, off or out by the record")
	}
	for _, text := range shift.Begun {
		s.Say("begun, not finished: %s", text)
	}
	s.Findings(shift.Unanswered)
	if shift.Waiting > 0 {
		s.Say("%s waiting for a record: feedproof check %s", desk.Plural(shift.Waiting, "thing"), desk.Quoted(name))
	}
	s.Say("Next: %s", shift.Next)
}

// handTo writes down who took the car, and what was said about it.
func (s *session) handTo(v desk.Car, shift checklist.Shift, to string) error {
	me, err := s.Who()
	if err != nil {
		return err
	}
	taker, err := s.Person(to)
	if err != nil {
		return err
	}
	if err := s.record(v, s.Now(), schema.NoteData{Text: shift.Note(me.Person, taker.Person)}); err != nil {
		return err
	}
	if !s.flags.json {
		s.sayShift(shift, v.Data.Name)
		s.Say("to put %s on this machine: feedproof use %s", taker.Name, taker.Person)
	}
	return nil
}
