package cli

import (
	"bytes"
	"strings"
	"testing"
	"time"

	"github.com/spf13/cobra"
)

// every calls f with each command of the program.
func every(t *testing.T, f func(*cobra.Command)) {
	t.Helper()
	a := &app{World: World{Getenv: func(string) string { return "" }, Now: time.Now}}
	seen := 0
	var visit func(*cobra.Command)
	visit = func(c *cobra.Command) {
		seen++
		f(c)
		for _, sub := range c.Commands() {
			visit(sub)
		}
	}
	visit(a.root())
	if seen < 40 {
		t.Fatalf("only %d commands", seen)
	}
}

// Help fits a terminal of 80 columns, and no flag is without a word.
func TestHelp(t *testing.T) {
	const columns = 80
	every(t, func(c *cobra.Command) {
		if c.Example == "" && !c.Hidden {
			t.Errorf("%s: has no example", c.CommandPath())
		}
		if c.Short == "" {
			t.Errorf("%s: has no short text", c.CommandPath())
		}
		var out bytes.Buffer
		c.SetOut(&out)
		if err := c.Help(); err != nil {
			t.Fatalf("%s: %v", c.CommandPath(), err)
		}
		example := false
		for _, line := range strings.Split(out.String(), "\n") {
			example = strings.HasPrefix(line, "Examples:") || example && line != ""
			if !example && len([]rune(line)) > columns {
				t.Errorf("%s: a line of %d columns: %s", c.CommandPath(), len([]rune(line)), line)
			}
		}
	})
}

// Every example is a command line that the program would take: the command is
// there and so is every flag.
func TestExamplesParse(t *testing.T) {
	seen := 0
	every(t, func(c *cobra.Command) {
		for line := range strings.Lines(strings.ReplaceAll(c.Example, "\\\n", "")) {
			words := demoArgs(strings.ReplaceAll(strings.TrimSpace(line), "'", "\""))
			if len(words) == 0 || words[0] != "feedproof" {
				continue
			}
			seen++
			found, rest, err := c.Root().Find(withoutPipe(words[1:]))
			if err != nil || found.CommandPath() != c.CommandPath() && !strings.HasPrefix(found.CommandPath(), c.CommandPath()+" ") {
				t.Errorf("%s: example %q is of %v: %v", c.CommandPath(), line, found, err)
				continue
			}
			if err := found.ParseFlags(rest); err != nil {
				t.Errorf("%s: example %q: %v", c.CommandPath(), line, err)
			}
			if err := found.ValidateArgs(found.Flags().Args()); err != nil {
				t.Errorf("%s: example %q: %v", c.CommandPath(), line, err)
			}
		}
	})
	if seen < 60 {
		t.Fatalf("only %d examples", seen)
	}
}

// withoutPipe leaves out what a shell does with the output.
func withoutPipe(words []string) []string {
	for i, w := range words {
		if w == "|" || w == ">" {
			return words[:i]
		}
	}
	return words
}

// The tour has words for every chapter of the story, and shows lines that are
// there.
func TestTour(t *testing.T) {
	at := -1
	shown := map[string]bool{}
	for _, line := range demoStory {
		if strings.HasPrefix(line, "#") {
			at++
			continue
		}
		for _, start := range tour[at].shows {
			if strings.HasPrefix(line, start) {
				shown[start] = true
			}
		}
	}
	if at+1 != len(tour) {
		t.Fatalf("%d chapters, %d with words", at+1, len(tour))
	}
	for _, c := range tour {
		for _, start := range c.shows {
			if !shown[start] {
				t.Errorf("no line begins with %q", start)
			}
		}
	}
}
