package cli

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"strconv"
	"strings"

	"feedproof/checklist"
	"feedproof/checklist/car"
	"feedproof/checklist/datalog"
	"feedproof/cmd/internal/sheet"
	"feedproof/schema"
	"feedproof/schema/quantity"

	"github.com/spf13/cobra"
)

// logOptions are the flags of datalog.
type logOptions struct {
	run, at, hoseOff, barometer, charger string
	maps                                 []string
	yes                                  bool
}

func (a *app) datalogCommand() *cobra.Command {
	o := &logOptions{}
	c := &cobra.Command{
		Use: "datalog CAR FILE", Short: "read a logged idle, pull or road run and make evidence of it", Args: takes("CAR", "FILE"),
		Long: `Read a log: delimited text as loggers write it, packed with gzip or zstd or not.
Without --yes it shows which column it takes for which channel, and what it
computes; nothing is recorded. With --yes the log's hash, the mapping and the
worst values go into the car's draft, and the rules judge them.

Columns that the last log of this car named are taken as they were then.`,
		Example: `  feedproof datalog kestrel pull3.csv --run pull
  feedproof datalog kestrel pull3.csv --run pull --map "FP=fuel rail pressure,unit=bar,sensor=gauge" --map "PW=pulse width,unit=ms,events=1" --yes
  feedproof datalog kestrel idle.csv --run idle --hose-off 4s-14s --yes`,
		RunE: func(_ *cobra.Command, args []string) error {
			s, err := a.open()
			if err != nil {
				return err
			}
			return s.datalog(args[0], args[1], *o)
		},
	}
	f := c.Flags()
	f.StringVar(&o.run, "run", "", "what was logged: idle, pull, road")
	f.StringArrayVar(&o.maps, "map", nil, "COLUMN=CHANNEL, then any of unit=.. sensor=gauge|absolute|sealed events=N stoich=N filter=.. between commas; an empty channel leaves the column out")
	f.StringVar(&o.hoseOff, "hose-off", "", "when the reference hose was off at idle, in the log's time: 4s-14s")
	f.StringVar(&o.barometer, "barometer", "", "barometer, when it is not logged: 98.2 kPa abs")
	f.StringVar(&o.charger, "charger", "", "was a battery charger connected: yes, no")
	f.StringVar(&o.at, "at", "", "when it was driven")
	f.BoolVar(&o.yes, "yes", false, "the mapping is right: record it")
	return c
}

var logRuns = []string{"idle", "pull", "road"}

func (s *session) datalog(carName, file string, o logOptions) error {
	v, err := s.car(carName)
	if err != nil {
		return err
	}
	if _, err := pickExact("--run", o.run, logRuns, func(r string) string { return r }); err != nil {
		return err
	}
	a, err := s.assess(v)
	if err != nil {
		return err
	}
	content, err := os.ReadFile(s.path(file))
	if err != nil {
		return failed("ls "+quoted(filepath.Dir(file)), "%s: cannot be read: %v", file, err)
	}
	mapping, err := s.logMapping(file, content, a.Car, o.maps)
	if err != nil {
		return err
	}
	conditions, err := logConditions(a.Car, o)
	if err != nil {
		return err
	}
	r, err := datalog.Analyse(bytes.NewReader(content), mapping, conditions)
	if err != nil {
		return failed("feedproof datalog --help", "%s: %v", file, err)
	}
	page := sheet.NewLog(filepath.Base(file), r)
	if !o.yes {
		return s.showLog(page, v)
	}
	at, err := s.moment(o.at)
	if err != nil {
		return err
	}
	kept, err := s.keep(file, bytes.NewReader(content))
	if err != nil {
		return err
	}
	others, err := s.otherCars(v, kept)
	if err != nil {
		return err
	}
	if !s.flags.json {
		s.logPage(page)
	}
	if err := s.record(v, at, checklist.LogEntry(filepath.Base(file), o.run, int64(len(content)), r)); err != nil || len(others) == 0 {
		return err
	}
	if v, err = s.car(carName); err != nil {
		return err
	}
	return s.record(v, at, schema.EvidenceData{
		SHA256: kept.SHA256, Bytes: kept.Bytes, Type: mediaType(file), What: "log " + filepath.Base(file) + " of another car", Entries: others,
	})
}

// logMapping is the proposal for the file, with what the car's last log named
// and what was typed over it.
func (s *session) logMapping(file string, content []byte, c *car.Car, typed []string) (datalog.Mapping, error) {
	p, err := datalog.Propose(bytes.NewReader(content))
	if err != nil {
		return datalog.Mapping{}, failed("feedproof datalog --help", "%s: %v", file, err)
	}
	m := p.Mapping
	if len(c.Logs) > 0 {
		for _, known := range c.Logs[len(c.Logs)-1].Data.Mapping {
			place(&m, datalog.Column{Column: known.Column, Channel: datalog.Channel(known.Channel), Unit: known.Unit, Sensor: datalog.Sensor(known.Sensor), Events: known.Events}, p.Guesses)
		}
	}
	for _, text := range typed {
		column, err := typedColumn(text)
		if err != nil {
			return m, err
		}
		if !place(&m, column, p.Guesses) {
			return m, wrong("feedproof datalog "+quoted(c.Vehicle.Name)+" "+quoted(file), "--map: the log has no column %q", column.Column)
		}
	}
	if err := m.Validate(); err != nil {
		return m, wrong(`say it with --map "COLUMN=CHANNEL,unit=...,sensor=..."`, "%s: %s", file, strings.ReplaceAll(err.Error(), "\n", "; "))
	}
	return m, nil
}

// place puts a column's meaning into the mapping; false when the log has no
// such column. Another column that had the channel loses it.
func place(m *datalog.Mapping, c datalog.Column, guesses []datalog.Guess) bool {
	for _, g := range guesses {
		if g.Column != c.Column {
			continue
		}
		kept := m.Columns[:0]
		for _, old := range m.Columns {
			if old.Column != c.Column && (old.Channel != c.Channel || c.Channel == datalog.NotUsed) {
				kept = append(kept, old)
			}
		}
		m.Columns = append(kept, c)
		return true
	}
	return false
}

// typedColumn reads COLUMN=CHANNEL[,unit=..][,sensor=..][,events=..].
func typedColumn(text string) (datalog.Column, error) {
	name, rest, ok := strings.Cut(text, "=")
	if !ok {
		return datalog.Column{}, wrong(`--map "FP=fuel rail pressure,unit=bar,sensor=gauge"`, "--map: %q is not COLUMN=CHANNEL", text)
	}
	parts := strings.Split(rest, ",")
	c := datalog.Column{Column: name, Channel: datalog.Channel(strings.TrimSpace(parts[0]))}
	for _, part := range parts[1:] {
		key, value, _ := strings.Cut(strings.TrimSpace(part), "=")
		switch key {
		case "unit":
			c.Unit = value
		case "sensor":
			c.Sensor = datalog.Sensor(value)
		case "stoich":
			c.Stoich = value
		case "filter":
			c.Filter = value
		case "events":
			n, err := strconv.Atoi(value)
			if err != nil {
				return c, wrong("events=1", "--map: %s: events: %q is not a number", name, value)
			}
			c.Events = n
		default:
			return c, wrong("unit, sensor, events, stoich or filter", "--map: %s: %q is not something a column has", name, key)
		}
	}
	return c, nil
}

func logConditions(c *car.Car, o logOptions) (datalog.Conditions, error) {
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

func (s *session) showLog(page sheet.LogPage, v vehicle) error {
	if s.flags.json {
		return s.JSON(page)
	}
	s.Head("columns taken for channels (nothing is recorded yet)")
	var rows [][]string
	for _, c := range page.Columns {
		rows = append(rows, []string{c.Column, c.Channel, c.Unit})
	}
	s.Table([]string{"COLUMN", "CHANNEL", "UNIT"}, rows)
	s.Say("")
	s.logPage(page)
	s.Say("is the mapping right? then add --yes; else --map \"COLUMN=CHANNEL,unit=...\"")
	return nil
}

// logPage shows what a log holds: worst values, what it cannot prove, what it
// looks like, and the worst pull as a chart.
func (s *session) logPage(page sheet.LogPage) {
	s.Head("%s: %s", page.File, page.Summary)
	var rows [][]string
	for _, w := range page.Worst {
		rows = append(rows, []string{w.Name, w.Value, w.At})
	}
	s.Table([]string{"WORST (0.3 s MEDIAN)", "VALUE", "AT"}, rows)
	for _, p := range page.Unproven {
		s.Say("%s: %s", p.State, p.Text)
	}
	for _, g := range page.Looks {
		s.Say("looks like %s: %s", g.Name, g.Text)
		if len(g.Causes) > 0 {
			s.Say("  likely: %s", strings.Join(g.Causes, "; "))
		}
		s.Say("  next: %s", g.Next)
	}
	for _, line := range page.Chart {
		fmt.Fprintln(s.Screen.Out, line)
	}
}
