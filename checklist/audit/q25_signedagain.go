package audit

import (
	"fmt"
	"slices"
	"strings"

	"feedproof/checklist/past"
	"feedproof/checklist/state"
	"feedproof/schema"
)

var _ = register(Question{
	ID: "Q25", Name: "signed-again", Title: "Which sign-offs were repeated or widened, and what was new between?",
	How: "Each sign-off is put beside the one before it of the same car. It is listed as repeated when nothing but notes and the coming and going of the car was written between, " +
		"as widened when a limit lies further out than before, or was left out, and as apart when it did not know of the one before: then the narrower limits hold. " +
		"Work is how many steps, fittings, removals, readings, logs and confirmations were written between.",
	Needs: "A wider limit may be right: a stronger pump was fitted and tested. Whether the tests carry it is for `feedproof check CAR`.",
}, askSignedAgain)

func askSignedAgain(a *asking) error {
	a.carColumns("signed: date", "by: the lead", "before: date of the sign-off before", "by_before: the lead who gave that", "what: repeated, widened or apart", "recheck_before: date", "recheck: date", "work: entries of work between")
	err := each(a, tableSignedAgain, "", func(record string, rows []signedAgainFact) error {
		for _, f := range rows {
			if err := a.row(record, []string{f.Entry, f.Before.Entry}, f.day(), f.By, f.Before.day(), f.Before.By, strings.Join(f.What, "; "), f.DueBefore, f.Due, f.Work); err != nil {
				return err
			}
		}
		return nil
	})
	a.sortRows(0, 2)
	return err
}

var tableSignedAgain = vehicleTable("signed-again", signedAgainFacts)

// signedAgainFact is a sign-off that repeats or widens the one before it.
type signedAgainFact struct {
	stamp
	Before    *stamp   `json:"p"`
	What      []string `json:"w"`
	Due       string   `json:"d"`
	DueBefore string   `json:"pd"`
	Work      int      `json:"n"`
}

func signedAgainFacts(s subject) []signedAgainFact {
	var out []signedAgainFact
	for i := 1; i < len(s.car.SignOffs); i++ {
		was, now := s.car.SignOffs[i-1], s.car.SignOffs[i]
		f := signedAgainFact{stamp: *stampOf(now.Entry), Before: stampOf(was.Entry), Due: now.Data.Statement.Recheck, DueBefore: was.Data.Statement.Recheck}
		var fresh bool
		f.Work, fresh = newBetween(s.car, was.Entry, now.Entry)
		if !s.car.Sight.Saw(now.Entry.ID, was.Entry.ID) {
			f.What = append(f.What, "apart")
		}
		if !fresh {
			f.What = append(f.What, "repeated")
		}
		for _, w := range past.Widened(was.Data.Statement.Envelope, now.Data.Statement.Envelope) {
			f.What = append(f.What, fmt.Sprintf("%s widened: %s to %s", w.What, limitText(w.Was), limitText(w.Now)))
		}
		if len(f.What) > 0 {
			out = append(out, f)
		}
	}
	return out
}

// newBetween counts the entries of work that stand between two sign-offs, and
// reports whether anything is new in them but notes and visits.
func newBetween(c *state.Car, was, now schema.Entry) (work int, fresh bool) {
	for _, e := range c.Standing() {
		if schema.Order(e, was) <= 0 || schema.Order(e, now) >= 0 {
			continue
		}
		if state.IsWork(e) {
			work++
		}
		fresh = fresh || !slices.Contains([]string{"note", "visit", "signoff"}, e.Kind)
	}
	return work, fresh
}

// limitText is a limit in words.
func limitText(limit string) string {
	if limit == "" {
		return "none"
	}
	return limit
}
