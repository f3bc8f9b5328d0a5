package cli

import (
	"context"

	"feedproof/checklist"
	"feedproof/cmd/internal/desk"
	"feedproof/cmd/internal/facts"
	"feedproof/cmd/internal/terminal"
	"feedproof/schema"

	"github.com/spf13/cobra"
)

// signoffOptions are what a lead signs.
type signoffOptions struct {
	car     string
	release desk.Release
}

func newSignoffCommand(run func(context.Context, signoffOptions) error) *cobra.Command {
	var o signoffOptions
	c := &cobra.Command{
		Use: "signoff CAR", Short: "a lead signs the car off under an envelope", Args: asUsed,
		Long:    "A lead who did not do the work signs exactly what the record holds, under the\nenvelope of the plan; --power and the others make it narrower. Everything must\nbe committed, answered and closed.",
		Example: `  feedproof signoff kestrel --as robin-vale --recheck 2026-04-02`,
		RunE: func(c *cobra.Command, args []string) error {
			o.car = args[0]
			return run(c.Context(), o)
		},
	}
	f := c.Flags()
	measure(f, &o.release.Envelope.Power, "power", "most power, if less than planned")
	measure(f, &o.release.Envelope.Manifold, "manifold", "highest manifold pressure, if less than planned")
	measure(f, &o.release.Envelope.Speed, "rpm", "highest engine speed, if less than planned")
	f.StringVar(&o.release.Recheck, "recheck", "", "date the car is due back, at most 30 days on; left out: in 30 days")
	f.StringVar(&o.release.Meaning, "meaning", "I looked at every finding and hold point of this record and release the car under this envelope.", "what the signature means, in words")
	return c
}

// signoffJSON is what a sign-off answers with --json.
type signoffJSON struct {
	Vehicle   string             `json:"vehicle"`
	Commit    string             `json:"commit"`
	Statement schema.Statement   `json:"statement"`
	FuelCard  checklist.FuelCard `json:"fuel_card"`
}

func runSignoff(ctx context.Context, d *desk.Desk, out *terminal.Screen, o signoffOptions) error {
	c, err := d.Car(o.car)
	if err != nil {
		return err
	}
	done, err := d.SignOff(ctx, c, o.release)
	if err != nil {
		return err
	}
	st := done.Statement
	if out.AsJSON() {
		return out.JSON(signoffJSON{c.Data.Name, done.Commit, st, done.Card})
	}
	out.Say("%s: signed off by %s (%s)", c.Data.Name, done.By.Person, done.By.Name)
	out.Say("envelope: %s", facts.Envelope(st.Envelope))
	out.Say("%d entries seen, digest %.16s..., re-check by %s, commit %.12s", st.Entries, st.Digest, st.Recheck, done.Commit)
	out.Say("fuel card, also on the hand-over sheet (feedproof sheet %s):", desk.Quoted(c.Data.Name))
	for _, row := range facts.FuelCard(done.Card) {
		out.Say("  %s: %s", row[0], row[1])
	}
	return nil
}
