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
