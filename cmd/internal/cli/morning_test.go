package cli

import (
	"bytes"
	"fmt"
	"strings"
	"testing"

	"feedproof/cmd/internal/desk"
	"feedproof/cmd/internal/terminal"
	"feedproof/schema"
)

// In a pipe every row begins with its section and none is left out; for a
// reader a long section says where the rest of it is.
func TestShowMorning(t *testing.T) {
	m := desk.Morning{}
	for i := range mostShown + 2 {
		m.Open = append(m.Open, desk.OpenFinding{Car: fmt.Sprintf("car-%d", i), Severity: schema.Hold, Days: i, Finding: schema.Finding{Rule: "L06", About: "base", Measured: "low"}})
	}
	m.Tools = []desk.ToolDue{{Gauge: "G1", Name: "gas meter", State: "no bump test today"}}
	for _, c := range []struct {
		options terminal.Options
		rows    int
		parts   []string
	}{
		{terminal.Options{}, mostShown + 2, []string{"open\t■ HOLD\tcar-9\t9 days\tL06 base: low\n", "instruments\tG1\tgas meter\tno bump test today\n"}},
		{terminal.Options{Reader: true}, mostShown, []string{"open (10)\n", "2 more: feedproof check CAR\n", "no bump test today"}},
	} {
		var out bytes.Buffer
		showMorning(terminal.New(&out, &out, c.options), m)
		if got := strings.Count(out.String(), "L06 base"); got != c.rows {
			t.Errorf("%+v: %d rows, want %d", c.options, got, c.rows)
		}
		for _, p := range c.parts {
			if !strings.Contains(out.String(), p) {
				t.Errorf("%+v: says\n%s\nwhich lacks %q", c.options, out.String(), p)
			}
		}
	}
}

func TestLateness(t *testing.T) {
	for days, want := range map[int]string{-1: "in 1 day", -30: "in 30 days", 0: "today", 2: "2 days late"} {
		if got := lateness(days); got != want {
			t.Errorf("%d: %q, want %q", days, got, want)
		}
	}
}
