package cli

import (
	"fmt"
	"time"

	"feedproof/cmd/internal/sheet"
	"feedproof/records"
	"feedproof/schema"

	"github.com/spf13/cobra"
)

func (a *app) historyCommand() *cobra.Command {
	var commits bool
	c := &cobra.Command{
		Use: "history CAR", Short: "every fact of a car: when, who, what, with which gauge", Args: takes("CAR"),
		RunE: func(_ *cobra.Command, args []string) error {
			s, err := a.open()
			if err != nil {
				return err
			}
			if commits {
				return s.commits(args[0])
			}
			return s.history(args[0])
		},
	}
	c.Flags().BoolVar(&commits, "commits", false, "the commits instead, with whose key signed each")
	return c
}

// factJSON is one line of a history: Data is the fact as it stands in the
// record.
type factJSON struct {
	Counter   int64     `json:"counter"`
	Entry     string    `json:"entry"`
	At        time.Time `json:"at"`
	Entered   time.Time `json:"entered"`
	Late      bool      `json:"late"`
	By        string    `json:"by"`
	Device    string    `json:"device"`
	Kind      string    `json:"kind"`
	Fact      string    `json:"fact"`
	Data      any       `json:"data"`
	Committed bool      `json:"committed"`
}

func newFact(e schema.Entry, committed bool) factJSON {
	return factJSON{e.Counter, e.ID, e.At, e.Entered, e.Late(), e.By, e.Device, e.Kind, sheet.Fact(e), e.Data, committed}
}

func (s *session) history(carName string) error {
	v, err := s.car(carName)
	if err != nil {
		return err
	}
	lines := []factJSON{}
	var rows [][]string
	for _, e := range v.whole().Entries {
		_, committed := v.Record.Entry(e.ID)
		l := newFact(e, committed)
		lines = append(lines, l)
		rows = append(rows, s.factRow(l))
	}
	if s.flags.json {
		return s.JSON(lines)
	}
	s.Table([]string{"#", "WHEN", "WHO", "WHAT"}, rows)
	return nil
}

func (s *session) factRow(l factJSON) []string {
	what := l.Fact
	if l.Late {
		what += " (typed late, " + l.Entered.UTC().Format("2006-01-02 15:04") + ")"
	}
	if !l.Committed {
		what += " [draft]"
	}
	return []string{fmt.Sprint(l.Counter), s.when(l.At.UTC().Format(time.RFC3339)), l.By, what}
}

// when is a time as it stands in a table: RFC 3339 in a pipe, day and minute
// of this place on a terminal.
func (s *session) when(stamp string) string {
	t, err := time.Parse(time.RFC3339, stamp)
	if err != nil || !s.Terminal() {
		return stamp
	}
	return t.Local().Format("01-02 15:04")
}

func (s *session) commits(carName string) error {
	v, err := s.car(carName)
	if err != nil {
		return err
	}
	changes, err := s.shop.History(schema.VehicleRecord, v.ID)
	if err != nil || s.flags.json {
		return listJSON[records.Change](s, changes, err)
	}
	var rows [][]string
	for _, c := range changes {
		rows = append(rows, []string{c.Commit[:12], s.when(c.When.UTC().Format(time.RFC3339)), c.By, plural(len(c.Entries), "entry"), oneLine(c.Message)})
	}
	s.Table([]string{"COMMIT", "WHEN", "SIGNED BY", "ADDED", "MESSAGE"}, rows)
	return nil
}
