package cli

import (
	"slices"
	"strings"

	"feedproof/checklist"
	"feedproof/schema"

	"github.com/spf13/cobra"
)

func (a *app) checkCommand() *cobra.Command {
	var all bool
	c := &cobra.Command{
		Use: "check CAR", Short: "the findings now, over record and draft", Args: takes("CAR"),
		RunE: func(_ *cobra.Command, args []string) error {
			s, err := a.open()
			if err != nil {
				return err
			}
			return s.check(args[0], all)
		},
	}
	c.Flags().BoolVar(&all, "all", false, "also what is in order")
	return c
}

// checkJSON is how a car stands, as --json prints it.
type checkJSON struct {
	standing
	RuleSet  string            `json:"rule_set"`
	Findings []schema.Finding  `json:"findings"`
	Points   []checklist.Point `json:"points"`

	LooksLike []checklist.Diagnosis `json:"looks_like"` // likely causes of what was found
}

func (s *session) check(carName string, all bool) error {
	v, err := s.car(carName)
	if err != nil {
		return err
	}
	a, err := s.assess(v)
	if err != nil {
		return err
	}
	if s.flags.json {
		return s.JSON(checkOf(v, a))
	}
	s.top(v, a)
	found := a.Findings
	if !all {
		found = slices.DeleteFunc(slices.Clone(found), func(f schema.Finding) bool { return f.Severity == schema.OK })
	}
	said, waiting := checklist.Parted(found)
	s.Findings(named(said, v.Data.Name))
	s.diagnoses(checklist.Diagnose(a))
	s.waiting(waiting)
	if n := len(a.Findings) - len(found); n > 0 {
		s.Say("%d in order: feedproof check %s --all", n, quoted(v.Data.Name))
	}
	s.points(a.Points)
	s.Say("Next: %s", forCar(a.Next, v.Data.Name))
	return nil
}

// points lists the hold points of the visit: those before the release, or, when
// the car is only looked at, those after it.
func (s *session) points(points []checklist.Point) {
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
	s.Table([]string{"", "HOLD", "STATE", "BY", "WHAT"}, rows)
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
