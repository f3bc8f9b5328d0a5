package cli

import (
	"strconv"
	"strings"

	"feedproof/cmd/internal/desk"
	"feedproof/cmd/internal/facts"
	"feedproof/schema"

	"github.com/spf13/cobra"
)

func (a *app) correctCommand() *cobra.Command {
	var o struct{ why, instead, to string }
	c := &cobra.Command{
		Use: "correct CAR ENTRY", Short: "take an entry back, or name the right one; nothing is erased", Args: takes("CAR", "ENTRY"),
		Long: "Take an entry back, or name the right one. Nothing is erased: the old entry\nstays in the record and counts no longer. With --to it is written into the other\ncar too, and both records say so.\nENTRY is its number (#12), its id, or last.",
		Example: `  feedproof correct kestrel last --why "slip of the finger"
  feedproof correct kestrel 12 --instead 14 --why "read on the wrong gauge"
  feedproof correct kestrel 12 --to osprey --why "belongs to the other car"`,
		RunE: func(_ *cobra.Command, args []string) error {
			s, err := a.open()
			if err != nil {
				return err
			}
			if o.why == "" {
				return wrong(`feedproof correct `+args[0]+` `+args[1]+` --why ".."`, "--why: is missing")
			}
			return s.correct(args[0], args[1], o.why, o.instead, o.to)
		},
	}
	f := c.Flags()
	f.StringVar(&o.why, "why", "", "why it was wrong")
	f.StringVar(&o.instead, "instead", "", "the entry that holds the right value")
	f.StringVar(&o.to, "to", "", "the car it belongs to: it moves there, with a trace in both")
	either(c, "instead", "to")
	return c
}

func (s *session) correct(carName, entry, why, instead, to string) error {
	v, err := s.Car(carName)
	if err != nil {
		return err
	}
	e, err := findEntry(v, entry)
	if err != nil {
		return err
	}
	d := schema.CorrectData{Entry: e.ID, Action: schema.Void, Why: why}
	if instead != "" {
		right, err := findEntry(v, instead)
		if err != nil {
			return err
		}
		d.Action, d.By = schema.Replace, right.ID
	}
	if to != "" {
		return s.move(v, e, to, why)
	}
	s.Say("taken back: #%d %s", e.Counter, facts.Fact(e))
	return s.record(v, s.Now(), d)
}

// move writes an entry into the record of the car it belongs to, with a note of
// where it stood and who wrote it, and takes it back here. The other car gets
// it first: a machine that dies between leaves it in both, never in neither.
func (s *session) move(from desk.Car, e schema.Entry, to, why string) error {
	other, err := s.Car(to)
	if err != nil {
		return err
	}
	if other.ID == from.ID {
		return wrong("feedproof correct "+desk.Quoted(from.Data.Name)+" .. --to OTHER", "--to: %s is the car it stands in already", from.Data.Name)
	}
	data, trace, err := desk.Moved(from, e, why)
	if err != nil {
		return err
	}
	s.Say("moved to %s: #%d %s", other.Data.Name, e.Counter, facts.Fact(e))
	if err := s.record(other, e.At, data); err != nil {
		return err
	}
	if other, err = s.CarOf(other.ID); err != nil {
		return err
	}
	if err := s.record(other, s.Now(), trace); err != nil {
		return err
	}
	return s.record(from, s.Now(), schema.CorrectData{Entry: e.ID, Action: schema.Move, To: other.ID, Why: why})
}

// findEntry finds an entry by its number, its id or the end of it, or last.
func findEntry(v desk.Car, name string) (schema.Entry, error) {
	entries := v.Whole().Entries
	if name == "last" && len(entries) > 0 {
		return entries[len(entries)-1], nil
	}
	number, numberErr := strconv.ParseInt(strings.TrimPrefix(name, "#"), 10, 64)
	var found []schema.Entry
	for _, e := range entries {
		if numberErr == nil && e.Counter == number || e.ID == name || len(name) >= 6 && strings.HasSuffix(e.ID, strings.ToUpper(name)) {
			found = append(found, e)
		}
	}
	fix := "feedproof history " + v.Data.Name
	switch len(found) {
	case 1:
		return found[0], nil
	case 0:
		return schema.Entry{}, wrong(fix, "entry %s: is not in the record of %s", name, v.Data.Name)
	}
	var ids []string
	for _, e := range found {
		ids = append(ids, e.ID+" by "+e.By)
	}
	return schema.Entry{}, wrong(fix, "entry %s: could be %s", name, strings.Join(ids, " or "))
}
