package cli

import (
	"context"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"feedproof/checklist"
	"feedproof/checklist/datalog"
	"feedproof/checklist/state"
	"feedproof/cmd/internal/desk"
	"feedproof/cmd/internal/facts"
	"feedproof/cmd/internal/facts/chart"
	"feedproof/cmd/internal/terminal"
	"feedproof/records"
	"feedproof/schema"
	"feedproof/schema/quantity"

	"github.com/spf13/cobra"
)

// logOptions are a log and what is said of it.
type logOptions struct {
	car, file                            string
	run, at, hoseOff, barometer, charger string
	beside, svg, calibration             string
	maps                                 []string
	yes                                  bool
}

func newDatalogCommand(run func(context.Context, logOptions) error) *cobra.Command {
	var o logOptions
	c := &cobra.Command{
		Use: "datalog CAR FILE", Short: "read a logged idle, pull or road run and make evidence of it", Args: asUsed,
		Long: `Read a log: delimited text as loggers write it, packed with gzip or zstd or not.
Without --yes it shows which column it takes for which channel, and what it
computes; nothing is recorded. With --yes the log's hash, the mapping and the
worst values go into the car's draft, and the rules judge them.

Columns are confirmed once: the next file with the same header is read the same
way, of this car or of another. The worst pull is drawn, and held against the
plan: its pump, lines and regulator are computed at what was logged, to name
what one number cannot. --beside lays another pull over it.`,
		Example: `  feedproof datalog kestrel pull3.csv --run pull
  feedproof datalog kestrel pull3.csv --run pull --map "FP=fuel rail pressure,unit=bar,sensor=gauge" --map "PW=pulse width,unit=ms,events=1" --yes
  feedproof datalog kestrel idle.csv --run idle --hose-off 4s-14s --yes
  feedproof datalog kestrel pull4.csv --run pull --beside pull3.csv --svg charts`,
		RunE: func(c *cobra.Command, args []string) error {
			o.car, o.file = args[0], args[1]
			return run(c.Context(), o)
		},
	}
	f := c.Flags()
	f.StringVar(&o.run, "run", "", "what was logged: idle, pull, road")
	f.StringArrayVar(&o.maps, "map", nil, "COLUMN=CHANNEL, then any of unit=.. sensor=gauge|absolute|sealed events=N stoich=N filter=.. between commas; an empty channel leaves the column out")
	f.StringVar(&o.hoseOff, "hose-off", "", "when the reference hose was off at idle, in the log's time: 4s-14s")
	f.StringVar(&o.barometer, "barometer", "", "barometer, when it is not logged: 98.2 kPa abs")
	f.StringVar(&o.charger, "charger", "", "was a battery charger connected: yes, no")
	f.StringVar(&o.calibration, "calibration", "", "the engine calibration that was logged: its file, version or hash")
	f.StringVar(&o.at, "at", "", "when it was driven")
	f.StringVar(&o.beside, "beside", "", "another pull to lay over it: a file, or a log in this car's record by its name or the start of its hash")
	f.StringVar(&o.svg, "svg", "", "write the charts as SVG files into this folder")
	f.BoolVar(&o.yes, "yes", false, "the mapping is right: record it")
	return c
}

var logRuns = []string{"idle", "pull", "road"}

func runDatalog(_ context.Context, d *desk.Desk, out *terminal.Screen, in folder, o logOptions) error {
	v, err := d.Car(o.car)
	if err != nil {
		return err
	}
	if o.run == "" {
		return wrong("feedproof datalog "+desk.Quoted(o.car)+" "+desk.Quoted(o.file)+" --run pull", "--run: say what was logged: %s", strings.Join(logRuns, ", "))
	}
	if _, err := desk.PickExact("--run", o.run, logRuns, func(r string) string { return r }); err != nil {
		return err
	}
	a, err := d.Assess(v)
	if err != nil {
		return err
	}
	l, err := readLog(d, in, o.file, a.Car, o)
	if err != nil {
		return err
	}
	page := facts.NewLog(l.name, l.result, l.predicted)
	page.From = l.from
	charts := facts.LogCharts(l.name, l.result, l.predicted)
	if o.beside != "" {
		name, other, err := otherLog(d, in, o.beside, a.Car, o)
		if err != nil {
			return err
		}
		beside := facts.NewLogBeside(name, l.result, other)
		page.Beside = &beside
		charts = append(charts, facts.BesideCharts(l.name, name, l.result, other)...)
	}
	if err := writeCharts(out, in, o.svg, l.name, charts); err != nil {
		return err
	}
	if !o.yes {
		return showLog(out, page, charts)
	}
	if !out.AsJSON() {
		logPage(out, page, charts)
	}
	return recordLog(d, out, in, v, l, o)
}

// logFile is a log that was read.
type logFile struct {
	name       string
	path       string
	bytes      int64
	from       string // whose word the mapping is
	conditions datalog.Conditions
	result     datalog.Result
	predicted  checklist.Prediction
}

// readLog reads a file as a log of a car.
func readLog(d *desk.Desk, in folder, file string, c *state.Car, o logOptions) (logFile, error) {
	content, err := os.Open(in.path(file))
	if err != nil {
		return logFile{}, failed("ls "+desk.Quoted(filepath.Dir(file)), "%s: cannot be read: %v", file, err)
	}
	defer content.Close()
	l := logFile{name: filepath.Base(file), path: file}
	mapping, from, err := logMapping(d, file, content, c, o.maps)
	if err != nil {
		return l, err
	}
	if l.conditions, err = logConditions(c, o); err != nil {
		return l, err
	}
	if _, err := content.Seek(0, io.SeekStart); err != nil {
		return l, failed("copy the log to this machine", "%s: cannot be read twice: %v", file, err)
	}
	if l.result, err = datalog.Analyse(content, mapping, l.conditions); err != nil {
		return l, failed("feedproof datalog --help", "%s: %v", file, err)
	}
	if l.bytes, err = content.Seek(0, io.SeekEnd); err != nil {
		return l, err
	}
	l.from, l.predicted = from, checklist.Predict(c, l.result)
	return l, nil
}

// recordLog keeps the bytes, remembers the mapping and records the entry; and
// with it that the same bytes stand at another car.
func recordLog(d *desk.Desk, out *terminal.Screen, in folder, v desk.Car, l logFile, o logOptions) error {
	at, err := moment(d.Now(), o.at)
	if err != nil {
		return err
	}
	kept, err := keepLog(d, in, l)
	if err != nil {
		return err
	}
	others, err := d.OtherUses(v, kept)
	if err != nil {
		return err
	}
	entry := checklist.LogEntry(l.name, o.run, l.bytes, l.result, l.conditions, l.predicted)
	entry.Map = o.calibration
	return showEach(out, func(yield func(desk.Recorded, error) bool) {
		done, err := d.Record(v, at, entry)
		if !yield(done, err) {
			return
		}
		if err := rememberLog(d, v.Data.Name, entry); err != nil {
			out.Warn("the mapping is not offered for other cars: %v", err)
		}
		if len(others) > 0 {
			yield(d.Record(done.Car, at, schema.EvidenceData{
				SHA256: kept.SHA256, Bytes: kept.Bytes, Type: mediaType(l.path), What: "log " + l.name + " of another car", Entries: others,
			}))
		}
	})
}

// keepLog keeps the bytes that were analysed, and no others.
func keepLog(d *desk.Desk, in folder, l logFile) (records.Evidence, error) {
	content, err := os.Open(in.path(l.path))
	if err != nil {
		return records.Evidence{}, err
	}
	defer content.Close()
	kept, err := d.KeepFile(l.path, content)
	if err == nil && kept.SHA256 != l.result.Mapping.SHA256 {
		return kept, failed("run it again", "%s: changed while it was read", l.path)
	}
	return kept, err
}

// otherLog is the log to lay beside one: a file, or one of this car's, by name
// or by the start of its hash. Of several with the name the last counts.
func otherLog(d *desk.Desk, in folder, name string, c *state.Car, o logOptions) (string, datalog.Result, error) {
	for _, l := range slices.Backward(c.Logs) {
		if l.Data.File == name || len(name) >= 6 && strings.HasPrefix(l.Data.SHA256, name) {
			r, err := keptLog(d, l.Data, c)
			return l.Data.File + " of " + l.Entry.At.Format("2006-01-02"), r, err
		}
	}
	if _, err := os.Stat(in.path(name)); err != nil {
		return "", datalog.Result{}, wrong("feedproof history "+desk.Quoted(c.Vehicle.Name), "--beside: %q is neither a log of this car nor a file", name)
	}
	l, err := readLog(d, in, name, c, o)
	return l.name, l.result, err
}

// pullChart is the worst pull of the last loaded log of the visit; nil without
// one, or when its bytes are not here.
func pullChart(d *desk.Desk, out *terminal.Screen, c *state.Car) *chart.Chart {
	for _, l := range slices.Backward(c.Logs) {
		if l.Data.Run == "idle" || !c.InVisit(l.Entry) {
			continue
		}
		r, err := keptLog(d, l.Data, c)
		if err != nil {
			out.Warn("the pull is not drawn: %v", err)
			return nil
		}
		if pull, ok := facts.PullChart(l.Data.File, r, checklist.Predict(c, r)); ok {
			return &pull
		}
	}
	return nil
}

// keptLog reads a log of a car's record again from its kept bytes.
func keptLog(d *desk.Desk, l schema.DatalogData, c *state.Car) (datalog.Result, error) {
	file, err := d.Store().OpenEvidence(l.SHA256)
	if err != nil {
		return datalog.Result{}, failed("feedproof sync", "%s: its bytes are not in this shop: %v", l.File, err)
	}
	defer file.Close()
	r, err := datalog.Analyse(file, checklist.LogMapping(l), checklist.ReadAgain(l, checklist.LogConditions(c)))
	if err != nil {
		return r, failed("feedproof history "+desk.Quoted(c.Vehicle.Name), "%s: %v", l.File, err)
	}
	return r, nil
}

func logConditions(c *state.Car, o logOptions) (datalog.Conditions, error) {
	k := checklist.LogConditions(c)
	k.Charger = datalog.Answer(o.charger)
	if o.barometer != "" {
		p, err := quantity.Parse[quantity.Absolute](o.barometer)
		if err != nil {
			return k, wrong(`--barometer "98.2 kPa abs"`, "--barometer: %v", err)
		}
		k.Barometer = p
	}
	if o.hoseOff != "" {
		from, to, ok := strings.Cut(o.hoseOff, "-")
		start, err1 := quantity.Parse[quantity.Duration](from)
		end, err2 := quantity.Parse[quantity.Duration](to)
		if !ok || err1 != nil || err2 != nil {
			return k, wrong("--hose-off 4s-14s", "--hose-off: %q is not a span", o.hoseOff)
		}
		k.HoseOff = datalog.Span{From: start, To: end}
	}
	if err := k.Validate(); err != nil {
		return k, wrong("feedproof datalog --help", "%v", err)
	}
	return k, nil
}
