package cli

import (
	"strings"

	"feedproof/checklist"
	"feedproof/cmd/internal/desk"
	"feedproof/schema"

	"github.com/spf13/cobra"
)

func (a *app) waiveCommand() *cobra.Command {
	var d schema.WaiveData
	c := &cobra.Command{
		Use: "waive CAR FINDING", Short: "a lead's bounded answer to a HOLD", Args: takes("CAR", "FINDING"),
		Long: "A lead's bounded answer to a HOLD: why it may stand, what is done instead, until\nwhen, and that the customer knows. It holds for the number as it was measured. A\nBLOCK or STOP is never waived.",
		RunE: func(_ *cobra.Command, args []string) error {
			s, err := a.open()
			if err != nil {
				return err
			}
			return s.waive(args[0], args[1], d)
		},
	}
	f := c.Flags()
	f.StringVar(&d.Why, "why", "", "why it may stand, in 15 words or more")
	f.StringVar(&d.Measure, "measure", "", "what is done instead")
	f.StringVar(&d.Expires, "expires", "", "date it ends")
	choice(f, &d.Informed, "informed", "the customer knows")
	return c
}

func (s *session) waive(carName, name string, d schema.WaiveData) error {
	v, err := s.Car(carName)
	if err != nil {
		return err
	}
	me, err := s.Who()
	if err != nil {
		return err
	}
	if err := s.May(me.Person, d.EntryKind()); err != nil {
		return err
	}
	a, err := s.Assess(v)
	if err != nil {
		return err
	}
	f, err := desk.Finding(a, v.Data.Name, name, schema.Hold, schema.Block, schema.Stop, schema.Unproven)
	if err != nil {
		return err
	}
	d.Rule, d.Subject, d.Code, d.Values, d.Limits = f.Rule, f.Subject, f.Code, f.Values, f.Limits
	if wrongs := checklist.WaiverTrouble(a.Car, f, me.Person, d); len(wrongs) > 0 {
		return &desk.Error{Kind: desk.Refused, Wrong: "waiver refused: " + strings.Join(wrongs, "; "), Mend: "feedproof waive --help", Found: []schema.Finding{f}}
	}
	return s.record(v, s.Now(), d)
}
