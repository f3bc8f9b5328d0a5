package desk

import (
	"context"
	"encoding/json"
	"errors"
	"slices"
	"time"

	"feedproof/checklist"
	"feedproof/checklist/state"
	"feedproof/records"
	"feedproof/records/signature"
	"feedproof/schema"
	"feedproof/schema/quantity"

	"golang.org/x/crypto/ssh"
)

// Committed is what a commit did.
type Committed struct {
	records.CommitResult
	Held bool // the car is held
}

// Commit puts a car's draft into its record. With a HOLD, BLOCK or STOP open it
// is refused and nothing changes; held records the same facts with the car held.
func (d *Desk) Commit(ctx context.Context, c Car, held bool, message string) (Committed, error) {
	me, err := d.Who()
	if err != nil {
		return Committed{}, err
	}
	key, err := d.Key(me.Person)
	if err != nil {
		return Committed{}, err
	}
	a, err := d.Assess(c)
	if err != nil {
		return Committed{}, err
	}
	extra, holds, err := d.holding(c, a, me.Person, held, message)
	if err != nil {
		return Committed{}, err
	}
	defer d.forget()
	done, err := d.shop.Commit(ctx, records.CommitRequest{
		Vehicle: c.ID, By: me.Person, Key: key, Gate: d.gate(), Held: holds, Extra: extra, Message: message, Now: d.Now,
	})
	return Committed{done, holds}, commitTrouble(c, err)
}

func commitTrouble(c Car, err error) error {
	var stopped *records.RefusedError
	switch {
	case errors.Is(err, records.ErrNothing):
		return failed("feedproof read, step, fit ...", c.Data.Name, "nothing to commit")
	case errors.As(err, &stopped):
		return &Error{
			Wrong: "commit refused: " + Plural(len(stopped.Findings), "finding") + " open; nothing was changed", Kind: Refused, Cause: err,
			Found: Named(stopped.Findings, c.Data.Name), Mend: "do what comes next above; or keep the facts with the car held: feedproof commit " + Quoted(c.Data.Name) + " --held",
		}
	}
	return err
}

// holding is the entry that says the car is held, or that nothing holds it any
// longer.
func (d *Desk) holding(c Car, a checklist.Assessment, by string, asked bool, why string) (extra []schema.Entry, held bool, err error) {
	open := checklist.Open(a.Findings)
	hold := schema.HoldData{Findings: append([]schema.Finding{}, open...), RuleSet: checklist.RuleSet, Why: why}
	switch {
	case asked && len(open) > 0:
		held = true
	case len(open) == 0 && a.Car.Held != nil:
		hold.Why = Joined(why, "nothing is open")
	default:
		return nil, false, nil
	}
	e, err := d.entry(schema.VehicleRecord, c.ID, by, d.Now(), hold)
	return []schema.Entry{e}, held, err
}

// Release is what a lead signs: the limits narrower than planned, if any, the
// last date for the re-check, and what the signature means.
type Release struct {
	Envelope schema.Envelope
	Recheck  string // a date; empty is as late as it may be
	Meaning  string
}

// Signed is what a sign-off did.
type Signed struct {
	By        signature.Member
	Commit    string
	Statement schema.Statement
	Card      checklist.FuelCard
}

// SignOff signs a car off: exactly what its record holds, by a lead, under an
// envelope. What is in the way refuses it, and nothing changes.
func (d *Desk) SignOff(ctx context.Context, c Car, r Release) (Signed, error) {
	me, err := d.Who()
	if err != nil {
		return Signed{}, err
	}
	a, err := d.Assess(c)
	if err != nil {
		return Signed{}, err
	}
	if r.Recheck, err = d.recheckBy(a.Car, r.Recheck); err != nil {
		return Signed{}, err
	}
	if a.Car.Shop.Committers, err = d.committers(ctx, c, a.Car); err != nil {
		return Signed{}, err
	}
	if err := signable(c, a, me.Person); err != nil {
		return Signed{}, err
	}
	envelope, err := narrowed(a.Car.Plan, r.Envelope)
	if err != nil {
		return Signed{}, err
	}
	key, err := d.Key(me.Person)
	if err != nil {
		return Signed{}, err
	}
	if slices.Contains(a.Car.Workers(), me.Person) {
		r.Meaning += " I did the work alone; second checks: " + checklist.SamePersonDelayed + "."
	}
	statement := schema.Statement{
		Meaning: r.Meaning, Record: c.ID, Entries: len(state.Written(c.Record)), Digest: schema.Digest(state.Written(c.Record)),
		Person: me.Person, Role: schema.Lead, At: d.Now().UTC().Format(time.RFC3339), RuleSet: checklist.RuleSet,
		Envelope: envelope, Findings: aboveOK(a.Findings), Recheck: r.Recheck,
	}
	commit, err := d.sign(ctx, c, key, statement)
	return Signed{me, commit, statement, checklist.Card(a.Car, envelope, d.Now(), r.Recheck)}, err
}

// committers are who put work on the car into its record in this visit.
func (d *Desk) committers(ctx context.Context, c Car, car *state.Car) ([]string, error) {
	var progress func(done, total int)
	if d.options.Progress != nil {
		progress = d.options.Progress("looking at commit")
	}
	changes, err := d.shop.History(ctx, schema.VehicleRecord, c.ID, progress)
	if err != nil {
		return nil, err
	}
	committers := []string{}
	for _, change := range changes {
		if change.By != "" && slices.ContainsFunc(change.Entries, func(e schema.Entry) bool { return car.InVisit(e) && state.IsWork(e) }) {
			committers = append(committers, change.By)
		}
	}
	return committers, nil
}

// signable says what is in the way; where the envelope is too high, which one
// passes.
func signable(c Car, a checklist.Assessment, person string) error {
	found := checklist.CanSignOff(a, person)
	if len(found) == 0 && len(c.Draft) == 0 {
		return nil
	}
	if len(found) == 0 {
		return &Error{Thing: c.Data.Name, Wrong: Plural(len(c.Draft), "entry") + " not committed yet", Kind: Refused, Mend: "feedproof commit " + Quoted(c.Data.Name)}
	}
	e := &Error{
		Wrong: "sign-off refused: " + Plural(len(found), "thing") + " in the way; nothing was changed", Kind: Refused,
		Found: Named(found, c.Data.Name), Mend: "feedproof check " + Quoted(c.Data.Name),
	}
	if offer, ok := checklist.Offer(a.Car); ok {
		power := quantity.Format(offer, "kW", 0)
		e.Wrong += ". A shortage is never waived: the highest power that passes is " + power + " (" + quantity.Format(offer, "hp", 0) + "), the rest of the envelope as planned"
		e.Mend = "feedproof plan " + Quoted(c.Data.Name) + " --power " + Quoted(power)
	}
	return e
}

// recheckBy is the date by which the car comes back: the one given, else as late
// as it may be.
func (d *Desk) recheckBy(c *state.Car, given string) (string, error) {
	day, why := checklist.RecheckBy(c, d.Now())
	if why != "" {
		why = ": " + why
	}
	latest := day.Format(time.DateOnly)
	if given == "" {
		return latest, nil
	}
	if _, err := time.Parse(time.DateOnly, given); err != nil {
		return "", usage("--recheck "+d.Now().Format(time.DateOnly), "--recheck", "%q is not a date", given)
	}
	if given < d.Now().Format(time.DateOnly) {
		return "", usage("--recheck "+latest, "--recheck", "%s is over", given)
	}
	if given > latest {
		return "", usage("--recheck "+latest, "--recheck", "%s is after %s, the latest for this car%s", given, latest, why)
	}
	return given, nil
}

// narrowed is the plan's envelope with the limits given now, which may only be
// lower.
func narrowed(plan *schema.PlanData, given schema.Envelope) (schema.Envelope, error) {
	if plan == nil {
		return given, failed("feedproof plan --help", "sign-off", "the car has no plan, and so no envelope")
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
	g, err := given.SI()
	if err == nil && g <= 0 {
		return usage("feedproof plan CAR --"+flag+" ..", "--"+flag, "%s is no limit to drive under", given)
	}
	if err != nil || g > most {
		return usage("feedproof plan CAR --"+flag+" ..", "--"+flag, "%s is more than the %s that was planned and judged", given, *planned)
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
func (d *Desk) sign(ctx context.Context, c Car, key ssh.Signer, statement schema.Statement) (commit string, err error) {
	text, err := json.Marshal(statement)
	if err != nil {
		return "", err
	}
	if text, err = schema.Canonical(text); err != nil {
		return "", err
	}
	armored, err := signature.Sign(signature.Statement, text, key)
	if err != nil {
		return "", err
	}
	e, err := d.entry(schema.VehicleRecord, c.ID, statement.Person, d.Now(), schema.SignOffData{Statement: statement, Signature: string(armored)})
	if err != nil {
		return "", err
	}
	defer d.forget()
	done, err := d.shop.SignOff(ctx, records.SignOffRequest{Vehicle: c.ID, By: statement.Person, Key: key, Gate: d.gate(), Entry: e, Now: d.Now})
	return done.Commit, err
}
