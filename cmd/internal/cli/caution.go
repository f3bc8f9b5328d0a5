package cli

import (
	"context"
	"time"

	"feedproof/cmd/internal/desk"
	"feedproof/cmd/internal/terminal"
	"feedproof/schema"

	"github.com/spf13/cobra"
)

// cautionOptions are how a caution is answered.
type cautionOptions struct {
	car, caution string
	data         schema.CautionData
	certificate  schema.Certificate
	seen         bool
	at           string
}

func newCautionCommand(run func(context.Context, cautionOptions) error) *cobra.Command {
	var o cautionOptions
	c := &cobra.Command{
		Use: "caution CAR CAUTION", Short: "answer a caution with its proof, or say the hazard was seen", Args: asUsed,
		Example: `  feedproof caution kestrel K02 --proof "battery off and covered, plug reads 0.0 V"
  feedproof caution kestrel K04 --proof "extinguishers 7 and 8, photo" --inspected 2026-01-10
  feedproof caution kestrel K09 --proof "certificate 58, photo" --cleaned-by "tank cleaner" --cleaned-how "steam, 6 h" --tank-tag T-17 --cleaned-at 2026-03-02T04:30:00Z
  feedproof caution kestrel K20 --seen --where "rail inlet" --proof "one drip in 2 min at 3 bar"`,
		RunE: func(c *cobra.Command, args []string) error {
			o.car, o.caution = args[0], args[1]
			return run(c.Context(), o)
		},
	}
	f := c.Flags()
	f.StringVar(&o.data.Proof, "proof", "", "what shows it")
	f.StringVar(&o.data.Why, "na", "", "why it does not apply")
	f.BoolVar(&o.seen, "seen", false, "the hazard itself was seen: a leak, a spill")
	f.StringVar(&o.data.Where, "where", "", "the joint or place")
	f.StringSliceVar(&o.data.Persons, "person", nil, "who else was there")
	choice(f, &o.data.Agent, "agent", "extinguishers: what they hold")
	f.StringVar(&o.data.Inspected, "inspected", "", "extinguishers: date of their last inspection, the older one")
	f.StringVar(&o.certificate.By, "cleaned-by", "", "certificate of a cleaned tank: who cleaned it")
	f.StringVar(&o.certificate.Method, "cleaned-how", "", "certificate: how")
	f.StringVar(&o.certificate.Tank, "tank-tag", "", "certificate: tag or serial of the tank")
	f.StringVar(&o.certificate.At, "cleaned-at", "", "certificate: when")
	f.StringVar(&o.at, "at", "", "when")
	either(c, "na", "seen")
	return c
}

func runCaution(_ context.Context, d *desk.Desk, out *terminal.Screen, o cautionOptions) error {
	data, err := cautionOf(d.Now(), o)
	if err != nil {
		return err
	}
	c, err := d.Car(o.car)
	if err != nil {
		return err
	}
	caution, err := desk.Caution(o.caution)
	if err != nil {
		return err
	}
	data.Caution = caution.ID
	if data.State != schema.CautionNA && data.Proof == "" {
		return wrong("feedproof explain "+caution.ID, "--proof: what shows it? %s asks for: %s", caution.ID, caution.Proof)
	}
	at, err := moment(d.Now(), o.at)
	if err != nil {
		return err
	}
	return record(d, out, c, at, data)
}

// cautionOf is the answer as typed, with its dates read.
func cautionOf(now time.Time, o cautionOptions) (data schema.CautionData, err error) {
	data = o.data
	data.State = schema.CautionMet
	if o.seen {
		data.State = schema.CautionSeen
	}
	if data.Why != "" {
		data.State = schema.CautionNA
	}
	if data.Inspected != "" {
		if data.Inspected, err = day(now, "inspected", data.Inspected); err != nil {
			return data, err
		}
	}
	data.Certificate, err = certificateOf(now, o.certificate)
	return data, err
}

// certificateOf is a cleaning certificate as typed; none when nothing was.
func certificateOf(now time.Time, typed schema.Certificate) (*schema.Certificate, error) {
	switch {
	case typed == schema.Certificate{}:
		return nil, nil
	case typed.By == "":
		return nil, wrong(`--cleaned-by "tank cleaner"`, "--cleaned-by: a certificate says who cleaned the tank")
	case typed.At != "":
		when, err := moment(now, typed.At)
		if err != nil {
			return nil, err
		}
		typed.At = when.UTC().Format(time.RFC3339)
	}
	return &typed, nil
}
