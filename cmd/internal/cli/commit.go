package cli

import (
	"errors"

	"feedproof/checklist"
	"feedproof/records"
	"feedproof/schema"

	"github.com/spf13/cobra"
)

func (a *app) commitCommand() *cobra.Command {
	var o struct {
		held    bool
		message string
	}
	c := &cobra.Command{
		Use: "commit CAR", Short: "put the draft into the record, or say why not", Args: takes("CAR"),
		Long: "Put the draft into the record. The rules run first: with a HOLD, BLOCK or STOP\nopen nothing is changed and the exit code is 3. --held records the same facts\nwith the car held, which every screen shows until nothing is open.",
		RunE: func(_ *cobra.Command, args []string) error {
			s, err := a.open()
			if err != nil {
				return err
			}
			return s.commit(args[0], o.held, o.message)
		},
	}
	c.Flags().BoolVar(&o.held, "held", false, "record the facts with the car held")
	c.Flags().StringVarP(&o.message, "message", "m", "", "first line of the commit")
	return c
}

// commitJSON is what a commit answers with --json.
type commitJSON struct {
	Vehicle  string           `json:"vehicle"`
	Commit   string           `json:"commit"`
	Entries  int              `json:"entries"`
	Held     bool             `json:"held"`
	Findings []schema.Finding `json:"findings"` // above OK
}

func (s *session) commit(carName string, held bool, message string) error {
	v, err := s.car(carName)
	if err != nil {
		return err
	}
	me, err := s.who()
	if err != nil {
		return err
	}
	key, err := s.key(me.Person)
	if err != nil {
		return err
	}
	a, err := s.assess(v)
	if err != nil {
		return err
	}
	extra, holds, err := s.holding(v, a, me.Person, held, message)
	if err != nil {
		return err
	}
	done, err := s.shop.Commit(s.asking.Context(), records.CommitRequest{
		Vehicle: v.ID, By: me.Person, Key: key, Gate: s.gate(), Held: holds, Extra: extra, Message: message, Now: s.Now,
	})
	var stopped *records.RefusedError
	switch {
	case errors.Is(err, records.ErrNothing):
		return failed("feedproof read, step, fit ...", "%s: nothing to commit", v.Data.Name)
	case errors.As(err, &stopped):
		return &refused{
			what:  "commit refused: " + plural(len(stopped.Findings), "finding") + " open; nothing was changed",
			found: named(stopped.Findings, v.Data.Name), fix: "do what comes next above; or keep the facts with the car held: feedproof commit " + quoted(v.Data.Name) + " --held",
		}
	case err != nil:
		return err
	}
	defer s.tidyWhenDue()
	return s.showCommit(v, done, holds)
}

// holding is the entry that says the car is held, or that nothing holds it any
// longer.
func (s *session) holding(v vehicle, a checklist.Assessment, by string, asked bool, why string) (extra []schema.Entry, held bool, err error) {
	open := checklist.Open(a.Findings)
	hold := schema.HoldData{Findings: list(open), RuleSet: checklist.RuleSet, Why: why}
	switch {
	case asked && len(open) > 0:
		held = true
	case len(open) == 0 && a.Car.Held != nil:
		hold.Why = joinNonEmpty(why, "nothing is open")
	default:
		return nil, false, nil
	}
	e, err := s.entry(schema.VehicleRecord, v.ID, by, s.Now(), hold)
	return []schema.Entry{e}, held, err
}

func (s *session) showCommit(v vehicle, done records.CommitResult, held bool) error {
	var found []schema.Finding
	for _, f := range done.Findings {
		if f.Severity > schema.Note && f.Answered == "" {
			found = append(found, f)
		}
	}
	if s.flags.json {
		return s.JSON(commitJSON{v.Data.Name, done.Commit, len(done.Added), held, list(named(found, v.Data.Name))})
	}
	state := ""
	if held {
		state = "; the car is HELD"
	}
	s.Say("%s: %s committed as %.12s%s", v.Data.Name, plural(len(done.Added), "entry"), done.Commit, state)
	said, waiting := checklist.Parted(found)
	s.Findings(named(said, v.Data.Name))
	if len(waiting) > 0 {
		s.Say("%s waiting for a record before the sign-off: feedproof check %s", plural(len(waiting), "thing"), quoted(v.Data.Name))
	}
	return nil
}
