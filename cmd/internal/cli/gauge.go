package cli

import (
	"context"
	"fmt"
	"strings"
	"time"

	"feedproof/cmd/internal/desk"
	"feedproof/cmd/internal/facts"
	"feedproof/cmd/internal/terminal"
	"feedproof/schema"
	"feedproof/schema/quantity"

	"github.com/spf13/cobra"
)

func newGaugeCommand(below ...*cobra.Command) *cobra.Command {
	c := group("gauge", "instruments: what they are, calibration and checks", below...)
	c.Example = "  feedproof gauge add P1 --name \"rail gauge\" --measures pressure --range \"0 to 10 bar\" --class \"0.1 %\"\n  feedproof gauge list"
	return c
}

// gaugeAddOptions are an instrument as it is described.
type gaugeAddOptions struct {
	gauge                   string
	data                    schema.GaugeData
	rng, accuracy, division string
}

func newGaugeAddCommand(run func(context.Context, gaugeAddOptions) error) *cobra.Command {
	var o gaugeAddOptions
	c := &cobra.Command{
		Use: "add ID", Short: "add an instrument", Args: asUsed,
		Example: `  feedproof gauge add P1 --name "rail gauge" --measures pressure --range "0 to 10 bar" --class "1 %" --division "0.05 bar"
  feedproof gauge add G1 --name "gas meter" --measures gas --accuracy "0.5 %LEL" --sensor catalytic --span-gas methane --factor "1.9 ratio"`,
		RunE: func(c *cobra.Command, args []string) error {
			o.gauge = args[0]
			return run(c.Context(), o)
		},
	}
	f := c.Flags()
	f.StringVar(&o.data.Name, "name", "", "what it is called")
	choice(f, &o.data.Measures, "measures", "what it measures")
	f.StringVar(&o.data.Serial, "serial", "", "serial number")
	f.StringVar(&o.rng, "range", "", `lowest to highest: "0 to 10 bar"`)
	measure(f, &o.data.Class, "class", "accuracy class in % of span (EN 837-1)")
	f.StringVar(&o.accuracy, "accuracy", "", `or a plain half-width: "0.02 V"`)
	f.StringVar(&o.division, "division", "", `smallest division: "0.05 bar"`)
	choice(f, &o.data.Sensor, "sensor", "sensor of a gas meter")
	f.StringVar(&o.data.SpanGas, "span-gas", "", "gas a gas meter is calibrated with")
	measure(f, &o.data.GasFactor, "factor", "gas meter: true reading over shown, for this fuel")
	return c
}

func runGaugeAdd(ctx context.Context, d *desk.Desk, out *terminal.Screen, o gaugeAddOptions) (err error) {
	data := o.data
	if data.Name == "" || data.Measures == "" {
		return wrong("feedproof gauge add --help", "gauge %s: needs --name and --measures", o.gauge)
	}
	if data.RangeLow, data.RangeHigh, err = span(o.rng); err != nil {
		return err
	}
	if data.Accuracy, err = written("accuracy", o.accuracy); err != nil {
		return err
	}
	if data.Resolution, err = written("division", o.division); err != nil {
		return err
	}
	entries, err := d.AddGauge(ctx, o.gauge, data)
	if err != nil {
		return err
	}
	return showPut(out, schema.GaugeRecord, o.gauge, entries, fmt.Sprintf("gauge %s: %s, %s; it proves nothing before it has a calibration: feedproof gauge calibrate %s --due DATE", o.gauge, data.Name, data.Measures, o.gauge))
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

// gaugeCalibrateOptions are a calibration.
type gaugeCalibrateOptions struct {
	gauge string
	data  schema.CalibrationData
}

func newGaugeCalibrateCommand(run func(context.Context, gaugeCalibrateOptions) error) *cobra.Command {
	var o gaugeCalibrateOptions
	c := &cobra.Command{
		Use: "calibrate ID", Short: "record a calibration and when the next is due", Args: asUsed,
		Example: "  feedproof gauge calibrate P1 --date 2026-01-10 --due 2027-01-10 --certificate 1107",
		RunE: func(c *cobra.Command, args []string) error {
			o.gauge = args[0]
			return run(c.Context(), o)
		},
	}
	f := c.Flags()
	f.StringVar(&o.data.Date, "date", "", "date of the calibration (default: today)")
	f.StringVar(&o.data.Due, "due", "", "date the next one is due")
	f.StringVar(&o.data.Lab, "lab", "", "who calibrated it")
	f.StringVar(&o.data.Certificate, "certificate", "", "number of the certificate")
	choice(f, &o.data.Accredited, "accredited", "by an ISO/IEC 17025 laboratory")
	f.StringVar(&o.data.AsFound, "as-found", "", "state as found")
	f.StringVar(&o.data.AsLeft, "as-left", "", "state as left")
	return c
}

func runGaugeCalibrate(ctx context.Context, d *desk.Desk, out *terminal.Screen, o gaugeCalibrateOptions) error {
	g, err := d.Gauge(o.gauge)
	if err != nil {
		return err
	}
	data := o.data
	if data.Date, err = day(d.Now(), "date", data.Date); err != nil {
		return err
	}
	if data.Due == "" {
		return wrong("feedproof gauge calibrate "+g.ID+" --due DATE", "--due: is missing")
	}
	if _, err = day(d.Now(), "due", data.Due); err != nil {
		return err
	}
	return put(ctx, d, out, schema.GaugeRecord, g.ID, d.Now(), fmt.Sprintf("gauge %s: calibrated %s, due %s", g.ID, data.Date, data.Due), data)
}

// gaugeCheckOptions are a check of an instrument.
type gaugeCheckOptions struct {
	gauge, check string
	bad          bool
	value, at    string
	note         string
}

func newGaugeCheckCommand(run func(context.Context, gaugeCheckOptions) error) *cobra.Command {
	var o gaugeCheckOptions
	c := &cobra.Command{
		Use: "check ID bump|zero|comparison", Short: "record a check, such as a gas meter's bump test", Args: asUsed,
		Example: "  feedproof gauge check G1 bump\n  feedproof gauge check P1 comparison --bad --note \"reads 0.3 bar high\"",
		RunE: func(c *cobra.Command, args []string) error {
			o.gauge, o.check = args[0], args[1]
			return run(c.Context(), o)
		},
	}
	f := c.Flags()
	f.BoolVar(&o.bad, "bad", false, "it failed: readings since the last good check prove nothing")
	f.StringVar(&o.value, "value", "", "what it read, with its unit")
	f.StringVar(&o.note, "note", "", "in words")
	f.StringVar(&o.at, "at", "", "when it was done")
	return c
}

func runGaugeCheck(ctx context.Context, d *desk.Desk, out *terminal.Screen, o gaugeCheckOptions) error {
	g, err := d.Gauge(o.gauge)
	if err != nil {
		return err
	}
	sort, err := oneOf(o.check, schema.GaugeCheck("").Values())
	if err != nil {
		return wrong("feedproof gauge check --help", "check %v", err)
	}
	data := schema.CheckData{Check: schema.GaugeCheck(sort), Result: schema.Good, Note: o.note}
	if o.bad {
		data.Result = schema.Bad
	}
	if data.Value, err = written("value", o.value); err != nil {
		return err
	}
	at, err := moment(d.Now(), o.at)
	if err != nil {
		return err
	}
	said := fmt.Sprintf("gauge %s: %s %s at %s", g.ID, data.Check, data.Result, at.UTC().Format(time.RFC3339))
	if o.bad && data.Check != schema.BumpTest {
		said += "; what it read since its last good check proves nothing now. Which cars: feedproof ask gauges " + g.ID
	}
	return put(ctx, d, out, schema.GaugeRecord, g.ID, at, said, data)
}

func newGaugeListCommand(run func(context.Context, noOptions) error) *cobra.Command {
	return &cobra.Command{
		Use: "list", Short: "list the instruments, when they are due and last bump tested", Args: asUsed,
		Example: "  feedproof gauge list",
		RunE:    func(c *cobra.Command, _ []string) error { return run(c.Context(), noOptions{}) },
	}
}

func runGaugeList(_ context.Context, d *desk.Desk, out *terminal.Screen, _ noOptions) error {
	gauges, err := d.Gauges()
	if err != nil {
		return err
	}
	if out.AsJSON() {
		return out.JSON(list(gauges))
	}
	var rows [][]string
	for _, g := range gauges {
		what := desk.Joined(string(g.Data.Measures), facts.Accuracy(g.Snapshot))
		rows = append(rows, []string{g.ID, g.Data.Name, g.State(d.Now()), when(out, d.Now(), g.Snapshot.Bumped), what})
	}
	out.Table([]string{"ID", "NAME", "CALIBRATION", "BUMPED", "MEASURES"}, rows)
	return nil
}
