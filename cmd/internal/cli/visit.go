package cli

import (
	"cmp"
	"fmt"
	"strings"

	"feedproof/checklist/procedures"
	"feedproof/cmd/internal/desk"
	"feedproof/schema"

	"github.com/spf13/cobra"
)

func (a *app) visitCommand() *cobra.Command {
	return group("visit", "a car's stay in the shop", a.visitOpen(), a.visitClose())
}

func (a *app) visitOpen() *cobra.Command {
	d := schema.VisitData{Action: schema.OpenVisit}
	var declared schema.Declared
	var kinds []string
	var at string
	var recheck bool
	c := &cobra.Command{
		Use: "open CAR", Short: "open a visit: the jobs, the odometer, what the customer declares", Args: takes("CAR"),
		Example: `  feedproof visit open kestrel --kind a,b --odometer "84210 km" --words "wants 300 kW"`,
		RunE: func(_ *cobra.Command, args []string) error {
			s, err := a.open()
			if err != nil {
				return err
			}
			if recheck {
				d.Reason = cmp.Or(d.Reason, "re-check")
			} else if d.Kinds, err = parseKinds(kinds); err != nil {
				return err
			}
			if declared != (schema.Declared{}) {
				d.Declared = &declared
			}
			return s.openVisit(args[0], d, at)
		},
	}
	longLater(c, func() string { return "Open a visit with its job kinds:\n" + jobKinds() })
	f := c.Flags()
	f.StringSliceVar(&kinds, "kind", nil, "job kinds, a to i")
	f.BoolVar(&recheck, "recheck", false, "no job: the car is looked at again after its release, or after a year")
	c.MarkFlagsMutuallyExclusive("kind", "recheck")
	measure(f, &d.Odometer, "odometer", "odometer")
	f.StringVar(&d.Reason, "reason", "", "why the car is here")
	f.StringVar(&d.Bay, "bay", "", "bay (default: of this machine)")
	f.StringVar(&d.Words, "words", "", "the customer's words")
	measure(f, &declared.Power, "declared-power", "customer says: power now")
	measure(f, &declared.Boost, "declared-boost", "customer says: boost now")
	measure(f, &declared.Ethanol, "declared-ethanol", "customer says: ethanol now")
	f.StringVar(&at, "at", "", "when")
	return c
}

// jobKinds lists the kinds of job from the checklists that are shipped.
func jobKinds() string {
	book, _ := procedures.Load()
	var lines []string
	for _, j := range book.Jobs {
		lines = append(lines, fmt.Sprintf("  %s  %s", j.Kind, j.Title))
	}
	return strings.Join(lines, "\n")
}

func parseKinds(typed []string) ([]schema.JobKind, error) {
	var kinds []schema.JobKind
	for _, k := range typed {
		kind, err := oneOf(k, schema.JobKind("").Values())
		if err != nil {
			return nil, wrong("feedproof visit open --help", "--kind: %v", err)
		}
		kinds = append(kinds, schema.JobKind(kind))
	}
	if len(kinds) == 0 {
		return nil, wrong("--kind a,b, or --recheck; feedproof visit open --help lists them", "--kind: is missing")
	}
	return kinds, nil
}

func (s *session) openVisit(carName string, d schema.VisitData, at string) error {
	v, err := s.Car(carName)
	if err != nil {
		return err
	}
	a, err := s.Assess(v)
	if err != nil {
		return err
	}
	if open := a.Car.Visit; open != nil && !open.Closed {
		return failed("feedproof visit close "+desk.Quoted(v.Data.Name), "visit %s of %s: is open already", open.Data.Visit, v.Data.Name)
	}
	d.Visit = fmt.Sprint(len(a.Car.Visits) + 1)
	if d.Bay == "" {
		d.Bay = s.Device().Bay
	}
	when, err := moment(s.Now(), at)
	if err != nil {
		return err
	}
	return s.record(v, when, d)
}

func (a *app) visitClose() *cobra.Command {
	d := schema.VisitData{Action: schema.CloseVisit}
	var at string
	c := &cobra.Command{
		Use: "close CAR", Short: "close the visit: the car leaves, released or not", Args: takes("CAR"),
		Long: "Close the visit: the car leaves, released or not. A car that leaves held or with\nopen points is recorded as it is; say how in --words.",
		RunE: func(_ *cobra.Command, args []string) error {
			s, err := a.open()
			if err != nil {
				return err
			}
			return s.closeVisit(args[0], d, at)
		},
	}
	f := c.Flags()
	measure(f, &d.Odometer, "odometer", "odometer")
	f.StringVar(&d.Reason, "reason", "", "released, towed away unfinished, ...")
	f.StringVar(&d.Words, "words", "", "in words")
	f.StringVar(&at, "at", "", "when")
	return c
}

func (s *session) closeVisit(carName string, d schema.VisitData, at string) error {
	v, err := s.Car(carName)
	if err != nil {
		return err
	}
	a, err := s.Assess(v)
	if err != nil {
		return err
	}
	open := a.Car.Visit
	if open == nil || open.Closed {
		return failed("feedproof history "+desk.Quoted(v.Data.Name), "visit: none is open for %s", v.Data.Name)
	}
	d.Visit = open.Data.Visit
	if released := len(a.Car.SignOffs) > 0; !released && strings.TrimSpace(d.Reason) == "" {
		return wrong(`feedproof visit close `+desk.Quoted(v.Data.Name)+` --reason "towed away unfinished"`, "visit %s: is not signed off; say how the car leaves", d.Visit)
	}
	when, err := moment(s.Now(), at)
	if err != nil {
		return err
	}
	return s.record(v, when, d)
}
