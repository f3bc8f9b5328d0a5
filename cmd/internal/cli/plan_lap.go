package cli

import (
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"feedproof/checklist"
	"feedproof/checklist/datalog"
	"feedproof/checklist/fuel"
	"feedproof/cmd/internal/desk"
	"feedproof/cmd/internal/facts"
	"feedproof/cmd/internal/facts/chart"
	"feedproof/cmd/internal/terminal"
	"feedproof/schema/quantity"

	"github.com/spf13/pflag"
)

// lapOptions ask for a lap to be driven in the model, or for the waves in the rail.
type lapOptions struct {
	waves bool
	lap   string
	laps  int
	fuel  string
	svg   string
	maps  []string
}

func (l *lapOptions) add(set *pflag.FlagSet) {
	set.BoolVar(&l.waves, "waves", false, "follow the pressure waves in the planned rail")
	set.StringVar(&l.lap, "lap", "", "drive a lap in the model: a log's file, or one of "+strings.Join(fuel.LapNames(), ", "))
	set.IntVar(&l.laps, "laps", 0, "how many laps (default: until the least fuel level)")
	set.StringVar(&l.fuel, "lap-fuel", "", "fuel in the tank at the start of the laps (default: full)")
	set.StringVar(&l.svg, "svg", "", "write the chart of the lap as an SVG file into this folder")
	set.StringArrayVar(&l.maps, "map", nil, "columns of the lap's log, as datalog takes them")
}

// asks reports that something is asked of the model, and nothing is recorded.
func (l lapOptions) asks() bool { return l.waves || l.lap != "" }

// askModel answers what is asked of the model; nothing is recorded.
func askModel(d *desk.Desk, out *terminal.Screen, in folder, v desk.Car, a checklist.Assessment, o planOptions) error {
	if a.Car.Plan == nil {
		return failed("feedproof plan --help", "%s: has no plan yet", v.Data.Name)
	}
	if len(o.typed) > 0 {
		return wrong("--what-if "+o.typed[0].name+"=...", "--lap and --waves ask and record nothing: --%s is an input of the plan", o.typed[0].name)
	}
	asked, changes, err := splitQuestions(o.whatIf)
	if err != nil {
		return err
	}
	then := *a.Car
	if len(asked) > 0 {
		data, err := planned(d, a.Car.Plan, asked)
		if err != nil {
			return err
		}
		then.Plan, then.Fitted = &data, withoutAsked(a.Car.Fitted, asked)
		if !slices.ContainsFunc(asked, func(in input) bool { return in.name == "outlet" }) {
			data.Outlet = checklist.OutletFor(a.Car, &then)
		}
	}
	a.Car = &then
	if o.lap.waves {
		return askWaves(out, v, a, o.whatIf, changes)
	}
	return askLap(d, out, in, v, a, o, changes)
}

// askWaves shows what they make of the planned rail.
func askWaves(out *terminal.Screen, v desk.Car, a checklist.Assessment, questions, changes []string) error {
	w, err := checklist.Waves(a.Car, changes...)
	if err != nil {
		return failed("feedproof plan "+desk.Quoted(v.Data.Name)+" --help", "%s: the waves in the rail cannot be followed: %v", v.Data.Name, err)
	}
	page := facts.Waves(w)
	if out.AsJSON() {
		return out.JSON(page)
	}
	out.Head("%s: waves in the planned rail%s (nothing is recorded)", v.Data.Name, whatIfs(questions))
	planTable(out, page)
	return nil
}

func whatIfs(questions []string) string {
	if len(questions) == 0 {
		return ""
	}
	return ", what if " + strings.Join(questions, ", ")
}

// askLap drives one and shows it.
func askLap(d *desk.Desk, out *terminal.Screen, in folder, v desk.Car, a checklist.Assessment, o planOptions, changes []string) error {
	choice, err := o.lap.choice()
	if err != nil {
		return err
	}
	choice.Changes = changes
	run, err := driveLap(d, in, a, o.lap, choice)
	if err != nil {
		return err
	}
	picture := facts.LapChart(run)
	if err := writeChart(out, in, o.lap.svg, "lap-"+strings.TrimSuffix(filepath.Base(run.Name), filepath.Ext(run.Name)), picture); err != nil {
		return err
	}
	page := facts.NewLapPage(run)
	if out.AsJSON() {
		return out.JSON(page)
	}
	lapPage(out, v, page, picture, o.whatIf)
	return nil
}

func (l lapOptions) choice() (checklist.LapChoice, error) {
	c := checklist.LapChoice{Laps: l.laps}
	if l.laps < 0 {
		return c, wrong("--laps 10", "--laps: %d, from 1", l.laps)
	}
	if l.fuel != "" {
		v, err := quantity.Parse[quantity.Volume](l.fuel)
		if err != nil {
			return c, wrong(`--lap-fuel "40 L"`, "--lap-fuel: %v", err)
		}
		c.Fuel = v
	}
	return c, nil
}

func driveLap(d *desk.Desk, in folder, a checklist.Assessment, l lapOptions, choice checklist.LapChoice) (run checklist.LapRun, err error) {
	if slices.Contains(fuel.LapNames(), l.lap) {
		run, err = checklist.NamedLapRun(a.Car, l.lap, choice)
	} else {
		log, failure := lapLog(d, in, a, l)
		if failure != nil {
			return run, failure
		}
		run, err = checklist.LoggedLapRun(a.Car, filepath.Base(l.lap), log, choice)
	}
	if err != nil {
		return run, failed("feedproof plan "+desk.Quoted(a.Car.Vehicle.Name)+" --help", "%s: the lap cannot be driven: %v", a.Car.Vehicle.Name, err)
	}
	return run, nil
}

// lapLog reads a log's file as a lap.
func lapLog(d *desk.Desk, in folder, a checklist.Assessment, l lapOptions) ([]datalog.Drive, error) {
	content, err := os.Open(in.path(l.lap))
	if err != nil {
		return nil, failed("feedproof plan CAR --lap "+strings.Join(fuel.LapNames(), "|"), "--lap %s: neither a file that can be read nor a named lap: %v", l.lap, err)
	}
	defer content.Close()
	mapping, _, err := logMapping(d, l.lap, content, a.Car, l.maps)
	if err != nil {
		return nil, err
	}
	if _, err := content.Seek(0, io.SeekStart); err != nil {
		return nil, failed("copy the log to this machine", "%s: cannot be read twice: %v", l.lap, err)
	}
	log, err := datalog.Lap(content, mapping, checklist.LogConditions(a.Car))
	if err != nil {
		return nil, failed("feedproof datalog --help", "%s: %v", l.lap, err)
	}
	return log, nil
}

func lapPage(out *terminal.Screen, v desk.Car, page facts.LapPage, picture chart.Chart, questions []string) {
	out.Head("%s: %d laps of %s in the model%s (nothing is recorded)", v.Data.Name, page.Laps, page.Lap, whatIfs(questions))
	planTable(out, facts.PlanPage{Rows: page.Rows, Notes: page.Assumed})
	for _, f := range page.Findings {
		if f.Open() {
			out.Say("%s %s: %s, %s; %s. Next: %s", out.Short(f.Severity), f.Rule, f.About, f.Measured, f.Means, f.Next)
		}
	}
	out.Say("")
	for _, line := range picture.Text(chartColumns) {
		fmt.Fprintln(out.Out, line)
	}
}

// writeChart writes one chart into a folder under a name; without a folder it
// does nothing.
func writeChart(out *terminal.Screen, in folder, folder, name string, c chart.Chart) error {
	if folder == "" {
		return nil
	}
	if err := os.MkdirAll(in.path(folder), 0o755); err != nil {
		return failed("ls -ld "+desk.Quoted(folder), "%s: %v", folder, err)
	}
	file := filepath.Join(folder, name+".svg")
	if err := os.WriteFile(in.path(file), c.SVG(), 0o644); err != nil {
		return failed("ls -ld "+desk.Quoted(folder), "%s: %v", file, err)
	}
	if !out.AsJSON() {
		out.Say("chart written: %s", file)
	}
	return nil
}
