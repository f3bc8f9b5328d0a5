package cli

import (
	"time"

	"feedproof/checklist/procedures"
	"feedproof/cmd/internal/desk"
	"feedproof/schema"

	"github.com/spf13/cobra"
)

func (a *app) cautionCommand() *cobra.Command {
	var d schema.CautionData
	var certificate schema.Certificate
	var at string
	var seen bool
	c := &cobra.Command{
		Use: "caution CAR CAUTION", Short: "answer a caution with its proof, or say the hazard was seen", Args: takes("CAR", "CAUTION"),
		Example: `  feedproof caution kestrel K02 --proof "battery off and covered, plug reads 0.0 V"
  feedproof caution kestrel K04 --proof "extinguishers 7 and 8, photo" --inspected 2026-01-10
  feedproof caution kestrel K09 --proof "certificate 58, photo" --cleaned-by "tank cleaner" --cleaned-how "steam, 6 h" --tank-tag T-17 --cleaned-at 2026-03-02T04:30:00Z
  feedproof caution kestrel K20 --seen --where "rail inlet" --proof "one drip in 2 min at 3 bar"`,
		RunE: func(_ *cobra.Command, args []string) error {
			s, err := a.open()
			if err != nil {
				return err
			}
			d.State = schema.CautionMet
			if seen {
				d.State = schema.CautionSeen
			}
			if d.Why != "" {
				d.State = schema.CautionNA
			}
			if d.Inspected != "" {
				if d.Inspected, err = day(s.Now(), "inspected", d.Inspected); err != nil {
					return err
				}
			}
			if d.Certificate, err = s.certificate(certificate); err != nil {
				return err
			}
			return s.caution(args[0], args[1], d, at)
		},
	}
	f := c.Flags()
	f.StringVar(&d.Proof, "proof", "", "what shows it")
	f.StringVar(&d.Why, "na", "", "why it does not apply")
	f.BoolVar(&seen, "seen", false, "the hazard itself was seen: a leak, a spill")
	f.StringVar(&d.Where, "where", "", "the joint or place")
	f.StringSliceVar(&d.Persons, "person", nil, "who else was there")
	f.StringVar(&d.Inspected, "inspected", "", "extinguishers: date of their last inspection, the older one")
	f.StringVar(&certificate.By, "cleaned-by", "", "certificate of a cleaned tank: who cleaned it")
	f.StringVar(&certificate.Method, "cleaned-how", "", "certificate: how")
	f.StringVar(&certificate.Tank, "tank-tag", "", "certificate: tag or serial of the tank")
	f.StringVar(&certificate.At, "cleaned-at", "", "certificate: when")
	f.StringVar(&at, "at", "", "when")
	either(c, "na", "seen")
	return c
}

// certificate is a cleaning certificate as typed; none when nothing was.
func (s *session) certificate(typed schema.Certificate) (*schema.Certificate, error) {
	switch {
	case typed == schema.Certificate{}:
		return nil, nil
	case typed.By == "":
		return nil, wrong(`--cleaned-by "tank cleaner"`, "--cleaned-by: a certificate says who cleaned the tank")
	case typed.At != "":
		when, err := moment(s.Now(), typed.At)
		if err != nil {
			return nil, err
		}
		typed.At = when.UTC().Format(time.RFC3339)
	}
	return &typed, nil
}

func (s *session) caution(carName, name string, d schema.CautionData, at string) error {
	v, err := s.Car(carName)
	if err != nil {
		return err
	}
	book, err := procedures.Load()
	if err != nil {
		return err
	}
	i, err := desk.PickExact("caution", name, book.Cautions, func(c procedures.Caution) string { return c.ID })
	if err != nil {
		return err
	}
	d.Caution = book.Cautions[i].ID
	if d.State != schema.CautionNA && d.Proof == "" {
		return wrong("feedproof explain "+d.Caution, "--proof: what shows it? %s asks for: %s", d.Caution, book.Cautions[i].Proof)
	}
	when, err := moment(s.Now(), at)
	if err != nil {
		return err
	}
	return s.record(v, when, d)
}
