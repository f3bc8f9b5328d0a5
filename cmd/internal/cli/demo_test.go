package cli

import (
	"bytes"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"feedproof/cmd/internal/terminal"
)

func TestDemoOptions(t *testing.T) {
	fills(t, newDemoCommand,
		line[demoOptions]{args: "--dir|shop", want: demoOptions{dir: "shop"}},
		line[demoOptions]{args: "--tour", want: demoOptions{tour: true}},
		line[demoOptions]{args: "kestrel", fault: "one word too many"},
	)
}

// A line of the story that a chapter does not show runs before nobody, and the
// next one before the newcomer again.
func TestTourShowsItsLines(t *testing.T) {
	var out bytes.Buffer
	p := play{world: World{Out: &out}, out: terminal.New(&out, &out, terminal.Options{})}
	c := chapter{shows: []string{"gauge list"}}
	c.seen(p, "gauge add P1").out.Say("unseen")
	c.seen(p, "gauge list").out.Say("seen")
	if out.String() != "seen\n" || c.seen(p, "use tech-1").world.Out == p.world.Out {
		t.Errorf("%q", out.String())
	}
}

// ids are what differs from one run of the demo to the next.
var ids = regexp.MustCompile(`SHA256:\S+|\b[0-9a-f]{12,}\b`)

// The README shows what the program prints: each command of its session stands
// in the demo with the same lines after it.
func TestReadmeShowsTheDemo(t *testing.T) {
	var out bytes.Buffer
	w := World{
		In: strings.NewReader(""), Out: &out, Err: &out, Dir: t.TempDir(), Getenv: func(string) string { return "" },
		Now: func() time.Time { return time.Date(2026, 11, 25, 12, 0, 0, 0, time.UTC) },
	}
	if code := Main(w, []string{"demo", "--dir", filepath.Join(w.Dir, "shop")}); code != exitDone {
		t.Fatalf("demo ends with exit code %d:\n%s", code, out.String())
	}
	demo := ids.ReplaceAllString(out.String(), "ID")
	readme, err := os.ReadFile("../../../README.md")
	if err != nil {
		t.Fatal(err)
	}
	_, session, _ := strings.Cut(string(readme), "## What it looks like")
	_, session, _ = strings.Cut(session, "```\n")
	session, _, _ = strings.Cut(session, "```")
	shown := strings.Split(strings.TrimSpace(session), "\n\n")
	if len(shown) < 5 {
		t.Fatalf("the README's session has %d commands", len(shown))
	}
	for _, block := range shown {
		if !strings.Contains(demo, ids.ReplaceAllString(block, "ID")+"\n") {
			t.Errorf("the demo does not print:\n%s", block)
		}
	}
}
