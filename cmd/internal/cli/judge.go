package cli

import (
	"time"

	"feedproof/checklist"
	"feedproof/checklist/audit"
	"feedproof/cmd/internal/facts"
	"feedproof/records"
	"feedproof/schema"
)

// assess judges a car as its record and draft stand now, beside what other cars
// claim.
func (s *session) assess(v vehicle) (checklist.Assessment, error) {
	facts, err := s.shop.Facts()
	if err != nil {
		return checklist.Assessment{}, err
	}
	if facts.Claims, err = s.claims(v.whole()); err != nil {
		return checklist.Assessment{}, err
	}
	return checklist.Assess(v.whole(), facts, s.Now()), nil
}

// assessAlone judges a car by itself: what is asked at every reading must not
// wait for other records.
func (s *session) assessAlone(v vehicle) (checklist.Assessment, error) {
	facts, err := s.shop.Facts()
	if err != nil {
		return checklist.Assessment{}, err
	}
	return checklist.Assess(v.whole(), facts, s.Now()), nil
}

// claims are what other cars' records say of this one's serials and chassis
// number.
func (s *session) claims(r schema.Record) ([]schema.Claim, error) {
	return audit.Claims(func() (audit.Source, error) { return s.source() }, r)
}

// gate joins the checklist to a commit.
func (s *session) gate() records.Gate {
	return func(r schema.Record, shop schema.Shop) []schema.Finding {
		claims, err := s.claims(r)
		if err != nil {
			return []schema.Finding{{Rule: "X14", Severity: schema.Hold, About: "other cars", Measured: err.Error(), Means: "nobody knows what they claim", Next: "feedproof verify"}}
		}
		shop.Claims = claims
		return checklist.Evaluate(r, shop, s.Now())
	}
}

// record writes a fact about a car down, durable when it returns, and then
// shows what it changes.
func (s *session) record(v vehicle, at time.Time, data schema.Data) error {
	me, err := s.who()
	if err != nil {
		return err
	}
	if err := s.may(me.Person, data.EntryKind()); err != nil {
		return err
	}
	before, err := s.assessAlone(v)
	if err != nil {
		return err
	}
	e, err := s.typed(v.ID, me.Person, at, data)
	if err != nil {
		return err
	}
	s.doubtClock(v)
	v.Draft = append(v.Draft, e)
	after, err := s.assessAlone(v)
	if err != nil {
		return err
	}
	return s.showRecorded(v, e, checklist.Changed(before.Findings, after.Findings), after)
}

// recordedJSON is what a recorded fact answers with --json.
type recordedJSON struct {
	Vehicle  string           `json:"vehicle"`
	Entry    string           `json:"entry"`
	Counter  int64            `json:"counter"`
	Kind     string           `json:"kind"`
	Fact     string           `json:"fact"`
	Findings []schema.Finding `json:"findings"` // that it changed
	FuelOpen bool             `json:"fuel_open"`
	Next     string           `json:"next"`
}

func (s *session) showRecorded(v vehicle, e schema.Entry, found []schema.Finding, a checklist.Assessment) error {
	fact := facts.Fact(e)
	if s.flags.json {
		return s.JSON(recordedJSON{v.Data.Name, e.ID, e.Counter, e.Kind, fact, list(named(found, v.Data.Name)), a.Car.FuelOpen(), forCar(a.Next, v.Data.Name)})
	}
	s.Say("%s #%d by %s: %s", v.Data.Name, e.Counter, e.By, fact)
	said, waiting := checklist.Parted(found)
	s.Findings(named(said, v.Data.Name))
	if len(waiting) > 0 {
		s.Say("%s waiting for a record: feedproof check %s", plural(len(waiting), "more thing"), quoted(v.Data.Name))
	}
	return nil
}

// list is the slice, never nil, so that JSON says [].
func list[T any](items []T) []T {
	if items == nil {
		return []T{}
	}
	return items
}

// suspectClock is how far a clock may lag behind the record without a word.
const suspectClock = time.Hour

// doubtClock says when this machine's clock is behind the record. Nothing is
// refused: order is kept by counters.
func (s *session) doubtClock(v vehicle) {
	if latest, now := latestTyped(v), s.Now(); s.behind(v) {
		s.Warn("clock suspect: this machine says %s, the record's latest entry was typed %s. The fact is kept in its order; set the clock before the next reading.",
			now.UTC().Format(time.RFC3339), latest.UTC().Format(time.RFC3339))
	}
}

// behind reports that this machine's clock is behind the record.
func (s *session) behind(v vehicle) bool { return latestTyped(v).Sub(s.Now()) > suspectClock }

// latestTyped is when the last entry of a car was typed, by the clock of its
// machine.
func latestTyped(v vehicle) time.Time {
	var latest time.Time
	for _, e := range v.whole().Entries {
		if e.Entered.After(latest) {
			latest = e.Entered
		}
	}
	return latest
}
