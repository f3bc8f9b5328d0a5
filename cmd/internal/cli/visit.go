package cli

import (
	"cmp"
	"context"
	"fmt"
	"strings"
	"time"

	"feedproof/checklist/procedures"
	"feedproof/cmd/internal/desk"
	"feedproof/cmd/internal/terminal"
	"feedproof/schema"

	"github.com/spf13/cobra"
)

func newVisitCommand(below ...*cobra.Command) *cobra.Command {
	c := group("visit", "a car's stay in the shop", below...)
	c.Example = "  feedproof visit open kestrel --kind a,b --odometer \"84210 km\"\n  feedproof visit close kestrel"
	return c
}

// visitOpenOptions are a car that comes in.
type visitOpenOptions struct {
	car      string
	kinds    []string
	recheck  bool // instead of a job
	data     schema.VisitData
	declared schema.Declared
	at       string
}

func newVisitOpenCommand(run func(context.Context, visitOpenOptions) error) *cobra.Command {
	var o visitOpenOptions
	c := &cobra.Command{
		Use: "open CAR", Short: "open a visit: the jobs, the odometer, what the customer declares", Args: asUsed,
		Example: `  feedproof visit open kestrel --kind a,b --odometer "84210 km" --words "wants 300 kW"`,
		RunE: func(c *cobra.Command, args []string) error {
			o.car = args[0]
			return run(c.Context(), o)
		},
	}
	longLater(c, func() string { return "Open a visit with its job kinds:\n" + jobKinds() })
	f := c.Flags()
	f.StringSliceVar(&o.kinds, "kind", nil, "job kinds, a to i")
	f.BoolVar(&o.recheck, "recheck", false, "no job: the car is looked at again after its release, or after a year")
	either(c, "kind", "recheck")
	measure(f, &o.data.Odometer, "odometer", "odometer")
	f.StringVar(&o.data.Reason, "reason", "", "why the car is here")
	f.StringVar(&o.data.Bay, "bay", "", "bay (default: of this machine)")
	f.StringVar(&o.data.Words, "words", "", "the customer's words")
	measure(f, &o.declared.Power, "declared-power", "customer says: power now")
	measure(f, &o.declared.Boost, "declared-boost", "customer says: boost now")
	measure(f, &o.declared.Ethanol, "declared-ethanol", "customer says: ethanol now")
	f.StringVar(&o.at, "at", "", "when")
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

func runVisitOpen(_ context.Context, d *desk.Desk, out *terminal.Screen, o visitOpenOptions) (err error) {
	data := o.data
	if o.recheck {
		data.Reason = cmp.Or(data.Reason, "re-check")
	} else if data.Kinds, err = parseKinds(o.kinds); err != nil {
		return err
	}
	if o.declared != (schema.Declared{}) {
		data.Declared = &o.declared
	}
	return stay(d, out, o.car, o.at, data, d.OpenVisit)
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

// visitCloseOptions are a car that leaves.
type visitCloseOptions struct {
	car  string
	data schema.VisitData
	at   string
}

func newVisitCloseCommand(run func(context.Context, visitCloseOptions) error) *cobra.Command {
	var o visitCloseOptions
	c := &cobra.Command{
		Use: "close CAR", Short: "close the visit: the car leaves, released or not", Args: asUsed,
		Long:    "Close the visit: the car leaves, released or not. A car that leaves held or with\nopen points is recorded as it is; say how in --words.",
		Example: "  feedproof visit close kestrel",
		RunE: func(c *cobra.Command, args []string) error {
			o.car = args[0]
			return run(c.Context(), o)
		},
	}
	f := c.Flags()
	measure(f, &o.data.Odometer, "odometer", "odometer")
	f.StringVar(&o.data.Reason, "reason", "", "released, towed away unfinished, ...")
	f.StringVar(&o.data.Words, "words", "", "in words")
	f.StringVar(&o.at, "at", "", "when")
	return c
}

func runVisitClose(_ context.Context, d *desk.Desk, out *terminal.Screen, o visitCloseOptions) error {
	return stay(d, out, o.car, o.at, o.data, d.CloseVisit)
}

// stay has the desk record how a car's stay begins or ends, and shows it.
func stay(d *desk.Desk, out *terminal.Screen, car, typed string, data schema.VisitData, to func(desk.Car, time.Time, schema.VisitData) (desk.Recorded, error)) error {
	c, err := d.Car(car)
	if err != nil {
		return err
	}
	at, err := moment(d.Now(), typed)
	if err != nil {
		return err
	}
	done, err := to(c, at, data)
	if err != nil {
		return err
	}
	return showRecorded(out, done)
}
