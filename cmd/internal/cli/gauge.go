package cli

import (
	"fmt"
	"strings"
	"time"

	"feedproof/cmd/internal/desk"
	"feedproof/cmd/internal/facts"
	"feedproof/schema"
	"feedproof/schema/quantity"

	"github.com/spf13/cobra"
)

func (a *app) gaugeCommand() *cobra.Command {
	return group("gauge", "instruments: what they are, calibration and checks", a.gaugeAdd(), a.gaugeCalibrate(), a.gaugeCheck(), a.gaugeList())
}

type gaugeOptions struct {
	schema.GaugeData
	rng, accuracy, division string
}

func (a *app) gaugeAdd() *cobra.Command {
	var o gaugeOptions
	c := &cobra.Command{
		Use: "add ID", Short: "add an instrument", Args: takes("ID"),
		Example: `  feedproof gauge add P1 --name "rail gauge" --measures pressure --range "0 to 10 bar" --class "1 %" --division "0.05 bar"
  feedproof gauge add G1 --name "gas meter" --measures gas --accuracy "0.5 %LEL" --sensor catalytic --span-gas methane --factor "1.9 ratio"`,
		RunE: func(_ *cobra.Command, args []string) error {
			s, err := a.open()
			if err != nil {
				return err
			}
			return s.addGauge(args[0], o)
		},
	}
	f := c.Flags()
	f.StringVar(&o.Name, "name", "", "what it is called")
	choice(f, &o.Measures, "measures", "what it measures")
	f.StringVar(&o.Serial, "serial", "", "serial number")
	f.StringVar(&o.rng, "range", "", `lowest to highest: "0 to 10 bar"`)
	measure(f, &o.Class, "class", "accuracy class in % of span (EN 837-1)")
	f.StringVar(&o.accuracy, "accuracy", "", `or a plain half-width: "0.02 V"`)
	f.StringVar(&o.division, "division", "", `smallest division: "0.05 bar"`)
	choice(f, &o.Sensor, "sensor", "sensor of a gas meter")
	f.StringVar(&o.SpanGas, "span-gas", "", "gas a gas meter is calibrated with")
	measure(f, &o.GasFactor, "factor", "gas meter: true reading over shown, for this fuel")
	return c
}

func (s *session) addGauge(id string, o gaugeOptions) error {
	d := o.GaugeData
	if d.Name == "" || d.Measures == "" {
		return wrong("feedproof gauge add --help", "gauge %s: needs --name and --measures", id)
	}
	view, err := s.View()
	if err != nil {
		return err
	}
	if _, err := view.Record(schema.GaugeRecord, id); err == nil {
		return failed("feedproof gauge list", "gauge %s: is in the shop already", id)
	}
	if d.RangeLow, d.RangeHigh, err = span(o.rng); err != nil {
		return err
	}
	if d.Accuracy, err = written("accuracy", o.accuracy); err != nil {
		return err
	}
	if d.Resolution, err = written("division", o.division); err != nil {
		return err
	}
	return s.put(schema.GaugeRecord, id, s.Now(), fmt.Sprintf("gauge %s: %s, %s; it proves nothing before it has a calibration: feedproof gauge calibrate %s --due DATE", id, d.Name, d.Measures, id), d)
}

// span reads "0 to 10 bar": the unit at the end is of both.
func span(text string) (low, high quantity.Written, err error) {
	if text == "" {
		return low, high, nil
	}
	first, second, ok := strings.Cut(text, " to ")
	if !ok {
		first, second, ok = strings.Cut(text, "..")
	}
	if !ok {
		return low, high, wrong(`--range "0 to 10 bar"`, "--range: %q is not a range", text)
	}
	if high, err = quantity.Read(second); err != nil {
		return low, high, wrong(`--range "0 to 10 bar"`, "--range: %v", err)
	}
	if low, err = quantity.Read(first); err != nil {
		return low, high, wrong(`--range "0 to 10 bar"`, "--range: %v", err)
	}
	if low.Unit == "" {
		low.Unit = high.Unit
	}
	return low, high, nil
}

func written(flag, text string) (quantity.Written, error) {
	if text == "" {
		return quantity.Written{}, nil
	}
	w, err := quantity.Read(text)
	if err == nil && w.Unit == "" {
		err = fmt.Errorf("%q: a number without a unit is refused", text)
	}
	if err != nil {
		return w, wrong("feedproof gauge add --help", "--%s: %v", flag, err)
	}
	return w, nil
}

func (a *app) gaugeCalibrate() *cobra.Command {
	var d schema.CalibrationData
	c := &cobra.Command{
		Use: "calibrate ID", Short: "record a calibration and when the next is due", Args: takes("ID"),
		RunE: func(_ *cobra.Command, args []string) (err error) {
			s, err := a.open()
			if err != nil {
				return err
			}
			g, err := s.Gauge(args[0])
			if err != nil {
				return err
			}
			if d.Date, err = day(s.Now(), "date", d.Date); err != nil {
				return err
			}
			if d.Due == "" {
				return wrong("feedproof gauge calibrate "+g.ID+" --due DATE", "--due: is missing")
			}
			if _, err = day(s.Now(), "due", d.Due); err != nil {
				return err
			}
			return s.put(schema.GaugeRecord, g.ID, s.Now(), fmt.Sprintf("gauge %s: calibrated %s, due %s", g.ID, d.Date, d.Due), d)
		},
	}
	f := c.Flags()
	f.StringVar(&d.Date, "date", "", "date of the calibration (default: today)")
	f.StringVar(&d.Due, "due", "", "date the next one is due")
	f.StringVar(&d.Lab, "lab", "", "who calibrated it")
	f.StringVar(&d.Certificate, "certificate", "", "number of the certificate")
	choice(f, &d.Accredited, "accredited", "by an ISO/IEC 17025 laboratory")
	f.StringVar(&d.AsFound, "as-found", "", "state as found")
	f.StringVar(&d.AsLeft, "as-left", "", "state as left")
	return c
}

func (a *app) gaugeCheck() *cobra.Command {
	var d schema.CheckData
	var at, value string
	var bad bool
	c := &cobra.Command{
		Use: "check ID bump|zero|comparison", Short: "record a check, such as a gas meter's bump test", Args: takes("ID", "CHECK"),
		Example: "  feedproof gauge check G1 bump\n  feedproof gauge check P1 comparison --bad --note \"reads 0.3 bar high\"",
		RunE: func(_ *cobra.Command, args []string) error {
			s, err := a.open()
			if err != nil {
				return err
			}
			g, err := s.Gauge(args[0])
			if err != nil {
				return err
			}
			sort, err := oneOf(args[1], d.Check.Values())
			if err != nil {
				return wrong("feedproof gauge check --help", "check %v", err)
			}
			if d.Value, err = written("value", value); err != nil {
				return err
			}
			when, err := moment(s.Now(), at)
			if err != nil {
				return err
			}
			d.Check, d.Result = schema.GaugeCheck(sort), schema.Good
			if bad {
				d.Result = schema.Bad
			}
			said := fmt.Sprintf("gauge %s: %s %s at %s", g.ID, d.Check, d.Result, when.UTC().Format(time.RFC3339))
			if bad && d.Check != schema.BumpTest {
				said += "; what it read since its last good check proves nothing now. Which cars: feedproof ask gauges " + g.ID
			}
			return s.put(schema.GaugeRecord, g.ID, when, said, d)
		},
	}
	f := c.Flags()
	f.BoolVar(&bad, "bad", false, "it failed: readings since the last good check prove nothing")
	f.StringVar(&value, "value", "", "what it read, with its unit")
	f.StringVar(&d.Note, "note", "", "in words")
	f.StringVar(&at, "at", "", "when it was done")
	return c
}

func (a *app) gaugeList() *cobra.Command {
	return &cobra.Command{
		Use: "list", Short: "list the instruments, when they are due and last bump tested", Args: takes(),
		RunE: func(*cobra.Command, []string) error {
			s, err := a.open()
			if err != nil {
				return err
			}
			return s.listGauges()
		},
	}
}

func (s *session) listGauges() error {
	gauges, err := s.Gauges()
	if err != nil || s.flags.json {
		return listJSON(s, gauges, err)
	}
	var rows [][]string
	for _, g := range gauges {
		what := desk.Joined(string(g.Data.Measures), facts.Accuracy(g.Snapshot))
		rows = append(rows, []string{g.ID, g.Data.Name, g.State(s.Now()), s.when(g.Snapshot.Bumped), what})
	}
	s.Table([]string{"ID", "NAME", "CALIBRATION", "BUMPED", "MEASURES"}, rows)
	return nil
}
