package cli

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"time"

	"feedproof/checklist/past"
	"feedproof/cmd/internal/desk"
	"feedproof/cmd/internal/facts"
	"feedproof/cmd/internal/terminal"
	"feedproof/schema"

	"github.com/spf13/cobra"
)

// historyOptions are what of a car's past is asked for.
type historyOptions struct {
	car                   string
	facts, commits, since bool
	at, reading           string
}

func newHistoryCommand(run func(context.Context, historyOptions) error) *cobra.Command {
	var o historyOptions
	c := &cobra.Command{
		Use: "history CAR", Short: "one car through the years: visits, parts, findings, sign-offs", Args: asUsed,
		Long: `Show one car through the years: its visits, what is fitted and what was,
envelopes, findings as they were shown, waivers, sign-offs and incidents. In a
pipe and with --facts every fact follows, with its gauge.`,
		Example: `  feedproof history kestrel --reading "base rail"
  feedproof history kestrel --since-last
  feedproof history kestrel --at 2026-03-02T14:00:00Z
  feedproof history kestrel --at release`,
		RunE: func(c *cobra.Command, args []string) error {
			o.car = args[0]
			return run(c.Context(), o)
		},
	}
	f := c.Flags()
	f.BoolVar(&o.facts, "facts", false, "every fact too: when, who, what, with which gauge")
	f.BoolVar(&o.commits, "commits", false, "the commits instead, with whose key signed each")
	f.BoolVar(&o.since, "since-last", false, "what changed since the last visit, and what to look at again")
	f.StringVar(&o.reading, "reading", "", `one quantity through the years: "base rail", "load difference"; "flow ratio" holds the pumps' timed flows against their curve`)
	f.StringVar(&o.at, "at", "", "as it was known then: a time, a date, a commit, or release")
	either(c, "commits", "since-last", "reading", "facts")
	either(c, "commits", "at")
	return c
}

func runHistory(ctx context.Context, d *desk.Desk, out *terminal.Screen, o historyOptions) error {
	c, err := d.Car(o.car)
	if err != nil {
		return err
	}
	if o.commits {
		return showCommits(ctx, d, out, c)
	}
	if o.at != "" {
		then, said, err := d.AsKnown(c, stamped(d.Now(), o.at))
		if err != nil {
			return err
		}
		out.Warn("%s", said)
		c = then
	}
	switch {
	case o.since:
		return showSince(d, out, c)
	case o.reading == flowRatio:
		return showWear(d, out, c)
	case o.reading != "":
		return showSeries(d, out, c, o.reading)
	}
	return showStory(d, out, c, o.facts)
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
	Unknown   []string  `json:"did_not_know_of,omitempty"` // entries of other bays of which neither knew

	strand past.Strand
}

func newFact(s past.Strand, told string, committed bool) factJSON {
	e := s.Entry
	f := factJSON{e.Counter, e.ID, e.At, e.Entered, e.Late(), e.By, e.Device, e.Kind, told, e.Data, committed, nil, s}
	for _, other := range s.Unknown {
		f.Unknown = append(f.Unknown, other.ID)
	}
	return f
}

// factsOn lists every fact of a car.
func factsOn(v desk.Car) []factJSON {
	lines := []factJSON{}
	whole := v.Whole()
	told := facts.Told(whole)
	for i, s := range past.Strands(whole) {
		_, committed := v.Record.Entry(s.Entry.ID)
		lines = append(lines, newFact(s, told[i], committed))
	}
	return lines
}

func factRow(d *desk.Desk, out *terminal.Screen, l factJSON) []string {
	what := l.Fact
	if l.Late {
		what += " (typed late, " + l.Entered.UTC().Format("2006-01-02 15:04") + ")"
	}
	if !l.Committed {
		what += " [draft]"
	}
	what = side(l.strand) + what
	return []string{fmt.Sprint(l.Counter), when(out, d.Now(), l.At.UTC().Format(time.RFC3339)), l.By, what}
}

// side draws the lines of bays that wrote side by side, and on which of them an
// entry stands.
func side(s past.Strand) string {
	if len(s.Devices) == 0 {
		return ""
	}
	lines := slices.Repeat([]string{"│"}, len(s.Devices))
	lines[s.Line] = "●"
	return strings.Join(lines, " ") + " " + s.Entry.Device + ": "
}

// apartRow says which bays did not know of each other, over their first entry.
func apartRow(s past.Strand) []string {
	return []string{"", "", "", strings.Join(s.Devices, " and ") + " did not know of each other:"}
}

// showCommits lists the commits of a car's record.
func showCommits(ctx context.Context, d *desk.Desk, out *terminal.Screen, c desk.Car) error {
	changes, err := d.Store().History(ctx, schema.VehicleRecord, c.ID, out.Progress("looking at commit"))
	if err != nil {
		return err
	}
	if out.AsJSON() {
		return out.JSON(list(changes))
	}
	var rows [][]string
	for _, change := range changes {
		added := desk.Plural(len(change.Entries), "entry")
		if change.Merge && len(change.Entries) == 0 {
			added = "two lines joined"
		}
		rows = append(rows, []string{change.Commit[:12], when(out, d.Now(), change.When.UTC().Format(time.RFC3339)), change.By, added, ofRecord(out, change.Message, c.ID)})
	}
	out.Table([]string{"COMMIT", "WHEN", "SIGNED BY", "ADDED", "MESSAGE"}, rows)
	return nil
}

// ofRecord is a commit's message without the name of the record on a screen
// that shows one record.
func ofRecord(out *terminal.Screen, message, id string) string {
	text := oneLine(message)
	if rest, named := strings.CutPrefix(text, string(schema.VehicleRecord)+" "+id+": "); named && out.Terminal() {
		return rest
	}
	return text
}
