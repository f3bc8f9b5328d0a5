package cli

import (
	"encoding/json"
	"errors"
	"strings"
	"testing"
	"time"

	"feedproof/cmd/internal/desk"
	"feedproof/cmd/internal/desktest"
	"feedproof/cmd/internal/terminal"
	"feedproof/schema"
)

func TestHistoryOptions(t *testing.T) {
	fills(t, newHistoryCommand,
		line[historyOptions]{args: "kestrel", want: historyOptions{car: "kestrel"}},
		line[historyOptions]{args: "kestrel|--facts|--at|release", want: historyOptions{car: "kestrel", facts: true, at: "release"}},
		line[historyOptions]{args: "kestrel|--reading|base rail", want: historyOptions{car: "kestrel", reading: "base rail"}},
		line[historyOptions]{args: "kestrel|--commits", want: historyOptions{car: "kestrel", commits: true}},
		line[historyOptions]{args: "kestrel|--since-last", want: historyOptions{car: "kestrel", since: true}},
		line[historyOptions]{args: "kestrel|--since-last|--reading|base rail", fault: "--reading and --since-last: only one of them can be given"},
		line[historyOptions]{args: "kestrel|--commits|--at|release", fault: "--at and --commits: only one of them can be given"},
		line[historyOptions]{args: "--facts", fault: "CAR: is missing"},
	)
}

func TestRunHistory(t *testing.T) {
	dir := desktest.Shop(t)
	read := readOptions{car: "kestrel", test: "base", words: []string{"3.00", "bar"}, conditions: schema.Conditions{Hose: "off"}}
	says(t, dir, "tech-1", runRead, read, "kestrel #3")
	says(t, dir, "tech-1", runHistory, historyOptions{car: "kestrel"}, "visits\t1\ta\t2026-03-02", "base: rail 3.00 bar (43.5 psi) on P1, hose off", "[draft]")
	says(t, dir, "tech-1", runHistory, historyOptions{car: "kestrel", reading: "base rail"}, "kestrel: base rail", "1\t2026-03-02T09:00:00Z\ttech-1\t3.00 bar\t")
	answers(t, dir, "tech-1", runHistory, historyOptions{car: "kestrel"}, "vehicle", "id", "visits", "facts")
	answers(t, dir, "tech-1", runHistory, historyOptions{car: "kestrel", reading: "base rail"}, "name", "unit", "points")
	refuses(t, dir, "tech-1", runHistory, historyOptions{car: "osprey"}, desk.Usage, "car osprey: is not in this shop")
	refuses(t, dir, "tech-1", runHistory, historyOptions{car: "kestrel", reading: "luck"}, desk.Usage, `--reading: "luck" is not a test and one of its values`)
	refuses(t, dir, "tech-1", runHistory, historyOptions{car: "kestrel", since: true}, desk.Failed, "kestrel: has had fewer than two visits")
	refuses(t, dir, "tech-1", runHistory, historyOptions{car: "kestrel", at: "soon"}, desk.Usage, "--at: ")
	refuses(t, dir, "tech-1", runHistory, historyOptions{car: "kestrel", at: "0123456789"}, desk.Usage, "--at: ")
}

// At one of its commits a car is what that commit held, without the draft.
func TestRunHistoryAtCommit(t *testing.T) {
	dir := desktest.Shop(t)
	says(t, dir, "tech-1", runFit, fitOptions{car: "kestrel", position: "pump", data: schema.FitData{Part: "PUMP-A"}}, "kestrel #3")
	text, err := shown(t, dir, "tech-1", runHistory, historyOptions{car: "kestrel", commits: true}, terminal.Options{JSON: true})
	var commits []struct {
		Commit string `json:"commit"`
	}
	if err := errors.Join(err, json.Unmarshal([]byte(text), &commits)); err != nil || len(commits) != 2 {
		t.Fatalf("%v\n%s\nwant two commits", err, text)
	}
	says(t, dir, "tech-1", runHistory, historyOptions{car: "kestrel", commits: true}, commits[0].Commit[:12], "\tlead-1\t")
	facts := func(at string) string {
		text, err := shown(t, dir, "tech-1", runHistory, historyOptions{car: "kestrel", at: at, facts: true}, terminal.Options{})
		if err != nil {
			t.Error(err)
		}
		return text
	}
	for _, c := range commits {
		if then := facts(c.Commit); !strings.Contains(then, "silver hatchback") || strings.Contains(then, "PUMP-A") {
			t.Errorf("%s: says\n%s", c.Commit, then)
		}
	}
	if first, second := facts(commits[0].Commit), facts(commits[1].Commit); first == second {
		t.Errorf("both commits say\n%s", first)
	}
}

func TestStamped(t *testing.T) {
	for typed, want := range map[string]string{"": "", "release": "release", "2026-03-02": "2026-03-02", "09:14": "2026-03-02T09:14:00Z", "2026-03-01 10:00": "2026-03-01T10:00:00Z", "2026-03-01T10:00:00+02:00": "2026-03-01T10:00:00+02:00"} {
		if got := stamped(desktest.Now, typed); got != want {
			t.Errorf("%q: %q, want %q", typed, got, want)
		}
	}
}

// A person reads day and minute of their own place, with the year when it is
// another; a program reads RFC 3339.
func TestWhen(t *testing.T) {
	at := time.Date(2025, 12, 31, 9, 14, 0, 0, time.Local).Format(time.RFC3339)
	now := time.Date(2026, 3, 2, 9, 0, 0, 0, time.Local)
	pipe, reader := terminal.New(nil, nil, terminal.Options{}), terminal.New(nil, nil, terminal.Options{Reader: true})
	for _, c := range []struct {
		out   *terminal.Screen
		stamp string
		want  string
	}{
		{pipe, at, at}, {reader, at, "2025-12-31 09:14"}, {reader, now.Format(time.RFC3339), "03-02 09:00"}, {reader, "never", "never"},
	} {
		if got := when(c.out, now, c.stamp); got != c.want {
			t.Errorf("%s: %q, want %q", c.stamp, got, c.want)
		}
	}
}
