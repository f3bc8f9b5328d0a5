package cli

import (
	"fmt"
	"strings"
	"time"

	"feedproof/cmd/internal/sheet"
	"feedproof/records"
	"feedproof/schema"

	"github.com/spf13/cobra"
)

// historyOptions are what of the past is asked for.
type historyOptions struct {
	facts, commits, since bool
	at, reading           string
}

func (a *app) historyCommand() *cobra.Command {
	var o historyOptions
	c := &cobra.Command{
		Use: "history CAR", Short: "one car through the years: visits, parts, findings, sign-offs", Args: takes("CAR"),
		Long: `Show one car through the years: its visits, what is fitted and what was,
envelopes, findings as they were shown, waivers, sign-offs and incidents. In a
pipe and with --facts every fact follows, with its gauge.`,
		Example: `  feedproof history kestrel --reading "base rail"
  feedproof history kestrel --since-last
  feedproof history kestrel --at 2026-03-02T14:00:00Z
  feedproof history kestrel --at release`,
		RunE: func(_ *cobra.Command, args []string) error {
			s, err := a.open()
			if err != nil {
				return err
			}
			return s.pastOf(args[0], o)
		},
	}
	f := c.Flags()
	f.BoolVar(&o.facts, "facts", false, "every fact too: when, who, what, with which gauge")
	f.BoolVar(&o.commits, "commits", false, "the commits instead, with whose key signed each")
	f.BoolVar(&o.since, "since-last", false, "what changed since the last visit, and what to look at again")
	f.StringVar(&o.reading, "reading", "", `one quantity through the years: "base rail", "load difference"; "flow ratio" holds the pumps' timed flows against their curve`)
	f.StringVar(&o.at, "at", "", "as it was known then: a time, a date, a commit, or release")
	c.MarkFlagsMutuallyExclusive("commits", "since-last", "reading", "facts")
	c.MarkFlagsMutuallyExclusive("commits", "at")
	return c
}

func (s *session) pastOf(carName string, o historyOptions) error {
	v, err := s.car(carName)
	if err != nil {
		return err
	}
	if o.commits {
		return s.commits(v)
	}
	if o.at != "" {
		if v, err = s.asKnown(v, o.at); err != nil {
			return err
		}
	}
	switch {
	case o.since:
		return s.sinceLast(v)
	case o.reading == flowRatio:
		return s.wear(v)
	case o.reading != "":
		return s.series(v, o.reading)
	}
	return s.story(v, o.facts)
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

func newFact(e schema.Entry, told string, committed bool) factJSON {
	return factJSON{e.Counter, e.ID, e.At, e.Entered, e.Late(), e.By, e.Device, e.Kind, told, e.Data, committed}
}

// facts lists every fact of a car.
func (v vehicle) facts() []factJSON {
	lines := []factJSON{}
	whole := v.whole()
	told := sheet.Told(whole)
	for i, e := range whole.Entries {
		_, committed := v.Record.Entry(e.ID)
		lines = append(lines, newFact(e, told[i], committed))
	}
	return lines
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
	if t.Year() != s.Now().Year() {
		return t.Local().Format("2006-01-02 15:04")
	}
	return t.Local().Format("01-02 15:04")
}

func (s *session) commits(v vehicle) error {
	changes, err := s.shop.History(s.asking.Context(), schema.VehicleRecord, v.ID, s.Progress("looking at commit"))
	if err != nil || s.flags.json {
		return listJSON[records.Change](s, changes, err)
	}
	var rows [][]string
	for _, c := range changes {
		added := plural(len(c.Entries), "entry")
		if c.Merge && len(c.Entries) == 0 {
			added = "two lines joined"
		}
		rows = append(rows, []string{c.Commit[:12], s.when(c.When.UTC().Format(time.RFC3339)), c.By, added, s.ofRecord(c.Message, v.ID)})
	}
	s.Table([]string{"COMMIT", "WHEN", "SIGNED BY", "ADDED", "MESSAGE"}, rows)
	return nil
}

// ofRecord is a commit's message without the name of the record on a screen
// that shows one record.
func (s *session) ofRecord(message, id string) string {
	text := oneLine(message)
	if rest, named := strings.CutPrefix(text, string(schema.VehicleRecord)+" "+id+": "); named && s.Terminal() {
		return rest
	}
	return text
}
