package cli

import (
	"encoding/json"
	"slices"
	"time"

	"feedproof/checklist"
	"feedproof/checklist/car"
	"feedproof/cmd/internal/sheet"
	"feedproof/records"
	"feedproof/records/signature"
	"feedproof/schema"
	"feedproof/schema/quantity"

	"github.com/spf13/cobra"
	"golang.org/x/crypto/ssh"
)

func (a *app) signoffCommand() *cobra.Command {
	var o signoffOptions
	c := &cobra.Command{
		Use: "signoff CAR", Short: "a lead signs the car off under an envelope", Args: takes("CAR"),
		Long:    "A lead who did not do the work signs exactly what the record holds, under the\nenvelope of the plan; --power and the others make it narrower. Everything must\nbe committed, answered and closed.",
		Example: `  feedproof signoff kestrel --as robin-vale --recheck 2026-04-02`,
		RunE: func(_ *cobra.Command, args []string) error {
			s, err := a.open()
			if err != nil {
				return err
			}
			return s.signoff(args[0], o)
		},
	}
	f := c.Flags()
	measure(f, &o.envelope.Power, "power", "most power, if less than planned")
	measure(f, &o.envelope.Manifold, "manifold", "highest manifold pressure, if less than planned")
	measure(f, &o.envelope.Speed, "rpm", "highest engine speed, if less than planned")
	f.StringVar(&o.recheck, "recheck", "", "date the car is due back, at most 30 days on; left out: in 30 days")
	f.StringVar(&o.meaning, "meaning", "I looked at every finding and hold point of this record and release the car under this envelope.", "what the signature means, in words")
	return c
}

type signoffOptions struct {
	envelope         schema.Envelope
	recheck, meaning string
}

func (s *session) signoff(carName string, o signoffOptions) error {
	v, err := s.car(carName)
	if err != nil {
		return err
	}
	me, err := s.who()
	if err != nil {
		return err
	}
	a, err := s.assess(v)
	if err != nil {
		return err
	}
	if found := checklist.CanSignOff(a, me.Person); len(found) > 0 {
		return signRefused(v, a, found)
	}
	if len(v.Draft) > 0 {
		return &refused{what: v.Data.Name + ": " + plural(len(v.Draft), "entry") + " not committed yet", fix: "feedproof commit " + quoted(v.Data.Name)}
	}
	if o.recheck, err = s.recheckBy(a.Car, o.recheck); err != nil {
		return err
	}
	envelope, err := narrowed(a.Car.Plan, o.envelope)
	if err != nil {
		return err
	}
	key, err := s.key(me.Person)
	if err != nil {
		return err
	}
	if slices.Contains(a.Car.Workers(), me.Person) {
		o.meaning += " I did the work alone; second checks: " + checklist.SamePersonDelayed + "."
	}
	statement := schema.Statement{
		Meaning: o.meaning, Record: v.ID, Entries: len(v.Record.Entries), Digest: schema.Digest(v.Record.Entries),
		Person: me.Person, Role: schema.Lead, At: s.Now().UTC().Format(time.RFC3339), RuleSet: checklist.RuleSet,
		Envelope: envelope, Findings: aboveOK(a.Findings), Recheck: o.recheck,
	}
	return s.sign(v, a.Car, me, key, statement)
}

// recheckBy is the date by which the car comes back: the one given, else as late
// as it may be.
func (s *session) recheckBy(c *car.Car, given string) (string, error) {
	latest, why := checklist.RecheckBy(c, s.Now())
	if why != "" {
		why = ": " + why
	}
	if given == "" {
		return latest.Format(time.DateOnly), nil
	}
	day, err := s.day("recheck", given)
	if err == nil && day > latest.Format(time.DateOnly) {
		err = wrong("--recheck "+latest.Format(time.DateOnly), "--recheck: %s is after %s, the latest for this car%s", given, latest.Format(time.DateOnly), why)
	}
	return day, err
}

// signRefused says what is in the way; where the envelope is too high, which
// one passes.
func signRefused(v vehicle, a checklist.Assessment, found []schema.Finding) error {
	r := &refused{
		what:  "sign-off refused: " + plural(len(found), "thing") + " in the way; nothing was changed",
		found: named(found, v.Data.Name), fix: "feedproof check " + quoted(v.Data.Name),
	}
	if offer, ok := checklist.Offer(a.Car); ok {
		power := quantity.Format(offer, "kW", 0)
		r.what += ". A shortage is never waived: the highest power that passes is " + power + " (" + quantity.Format(offer, "hp", 0) + "), the rest of the envelope as planned"
		r.fix = "feedproof plan " + quoted(v.Data.Name) + " --power " + quoted(power)
	}
	return r
}

// narrowed is the plan's envelope with the limits given now, which may only be
// lower.
func narrowed(plan *schema.PlanData, given schema.Envelope) (schema.Envelope, error) {
	if plan == nil {
		return given, failed("feedproof plan --help", "sign-off: the car has no plan, and so no envelope")
	}
	e := plan.Envelope
	if err := lower("power", &e.Power, given.Power); err != nil {
		return e, err
	}
	if err := lower("manifold", &e.Manifold, given.Manifold); err != nil {
		return e, err
	}
	return e, lower("rpm", &e.Speed, given.Speed)
}

func lower[T quantity.Quantity](flag string, planned *schema.Q[T], given schema.Q[T]) error {
	if given.IsZero() {
		return nil
	}
	most, err := planned.SI()
	if err != nil {
		return err
	}
	if g, err := given.SI(); err != nil || g > most {
		return wrong("feedproof plan CAR --"+flag+" ..", "--%s: %s is more than the %s that was planned and judged", flag, given, *planned)
	}
	*planned = given
	return nil
}

func aboveOK(found []schema.Finding) []schema.Finding {
	var out []schema.Finding
	for _, f := range found {
		if f.Severity > schema.OK {
			out = append(out, f)
		}
	}
	return out
}

// sign makes the detached signature over the statement and puts the sign-off
// into the record.
func (s *session) sign(v vehicle, c *car.Car, me signature.Member, key ssh.Signer, statement schema.Statement) error {
	text, err := json.Marshal(statement)
	if err != nil {
		return err
	}
	if text, err = schema.Canonical(text); err != nil {
		return err
	}
	armored, err := signature.Sign(signature.Statement, text, key)
	if err != nil {
		return err
	}
	e, err := s.entry(schema.VehicleRecord, v.ID, me.Person, s.Now(), schema.SignOffData{Statement: statement, Signature: string(armored)})
	if err != nil {
		return err
	}
	done, err := s.shop.SignOff(s.asking.Context(), records.SignOffRequest{Vehicle: v.ID, By: me.Person, Key: key, Gate: s.gate(), Entry: e, Now: s.Now})
	if err != nil {
		return err
	}
	card := checklist.Card(c, statement.Envelope, s.Now(), statement.Recheck)
	if s.flags.json {
		return s.JSON(struct {
			Vehicle   string           `json:"vehicle"`
			Commit    string           `json:"commit"`
			Statement schema.Statement `json:"statement"`

			FuelCard checklist.FuelCard `json:"fuel_card"`
		}{v.Data.Name, done.Commit, statement, card})
	}
	s.Say("%s: signed off by %s (%s)", v.Data.Name, me.Person, me.Name)
	s.Say("envelope: %s", sheet.Envelope(statement.Envelope))
	s.Say("%d entries seen, digest %.16s..., re-check by %s, commit %.12s", statement.Entries, statement.Digest, statement.Recheck, done.Commit)
	s.Say("fuel card, also on the hand-over sheet (feedproof sheet %s):", quoted(v.Data.Name))
	for _, row := range sheet.FuelCard(card) {
		s.Say("  %s: %s", row[0], row[1])
	}
	return nil
}
