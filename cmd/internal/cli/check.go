package cli

import (
	"context"
	"slices"
	"strings"

	"feedproof/checklist"
	"feedproof/cmd/internal/desk"
	"feedproof/cmd/internal/terminal"
	"feedproof/schema"

	"github.com/spf13/cobra"
)

// checkOptions are what check is asked.
type checkOptions struct {
	car string
	all bool // also what is in order
}

func newCheckCommand(run func(context.Context, checkOptions) error) *cobra.Command {
	var o checkOptions
	c := &cobra.Command{
		Use: "check CAR", Short: "the findings now, over record and draft", Args: asUsed,
		RunE: func(c *cobra.Command, args []string) error {
			o.car = args[0]
			return run(c.Context(), o)
		},
	}
	c.Flags().BoolVar(&o.all, "all", false, "also what is in order")
	return c
}

// checkJSON is how a car stands, as --json prints it.
type checkJSON struct {
	desk.Standing
	RuleSet  string            `json:"rule_set"`
	Findings []schema.Finding  `json:"findings"`
	Points   []checklist.Point `json:"points"`

	LooksLike []checklist.Diagnosis `json:"looks_like"` // likely causes of what was found
}

func runCheck(_ context.Context, d *desk.Desk, out *terminal.Screen, o checkOptions) error {
	c, err := d.Car(o.car)
	if err != nil {
		return err
	}
	a, err := d.Assess(c)
	if err != nil {
		return err
	}
	if out.AsJSON() {
		return out.JSON(checkOf(c, a))
	}
	top(out, c, a)
	found := a.Findings
	if !o.all {
		found = slices.DeleteFunc(slices.Clone(found), func(f schema.Finding) bool { return f.Severity == schema.OK })
	}
	said, later := checklist.Parted(found)
	out.Findings(desk.Named(said, c.Data.Name))
	diagnoses(out, checklist.Diagnose(a))
	waiting(out, later)
	if n := len(a.Findings) - len(found); n > 0 {
		out.Say("%d in order: feedproof check %s --all", n, desk.Quoted(c.Data.Name))
	}
	showPoints(out, a.Points)
	out.Say("Next: %s", desk.ForCar(a.Next, c.Data.Name))
	return nil
}

// showPoints lists the hold points of the visit: those before the release, or, when
// the car is only looked at, those after it.
func showPoints(out *terminal.Screen, points []checklist.Point) {
	var rows [][]string
	job := slices.ContainsFunc(points, func(p checklist.Point) bool { return !p.Release })
	for _, p := range points {
		if job && p.Release && p.State != checklist.PointClosed {
			continue
		}
		what := p.Name
		if p.Why != "" {
			what += ": " + p.Why
		}
		if len(p.Missing) > 0 {
			what += "; wants " + strings.Join(briefly(p.Missing), "; ")
		}
		rows = append(rows, []string{pointBox(p.State), p.ID, string(p.State), orDash(p.ClosedBy), what})
	}
	out.Table([]string{"", "HOLD", "STATE", "BY", "WHAT"}, rows)
}

func pointBox(state checklist.PointState) string {
	if state == checklist.PointClosed {
		return "[x]"
	}
	return "[ ]"
}

// Of what a hold point wants, so many things are listed before "and more", each
// cut to so many characters: `feedproof holdpoint list` shows all.
const (
	shownMissing = 2
	shownWords   = 48
)

func briefly(missing []string) []string {
	var out []string
	for i, m := range missing {
		if i == shownMissing {
			return append(out, "and more")
		}
		out = append(out, cut(m, shownWords))
	}
	return out
}
