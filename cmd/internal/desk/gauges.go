package desk

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"time"

	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/quantity"
)

// Instrument is a gauge of the shop as it stands.
type Instrument struct {
	ID       string               `json:"id"`
	Data     schema.GaugeData     `json:"gauge"`
	Snapshot schema.GaugeSnapshot `json:"state"`
}

// Gauge finds an instrument by id, serial, name or the start of one.
func (d *Desk) Gauge(name string) (Instrument, error) {
	all, err := d.Gauges()
	if err != nil {
		return Instrument{}, err
	}
	i, err := Pick("gauge", name, all, func(g Instrument) []string { return []string{g.ID, g.Data.Name, g.Data.Serial} })
	if err != nil {
		return Instrument{}, err
	}
	return all[i], nil
}

// Gauges lists the instruments of the shop by id.
func (d *Desk) Gauges() ([]Instrument, error) {
	seen, err := d.look()
	if err != nil {
		return nil, err
	}
	if seen.gauges == nil {
		all := []Instrument{}
		if err := d.each(schema.GaugeRecord, func(r schema.Record) { all = append(all, readInstrument(r)) }); err != nil {
			return nil, err
		}
		seen.gauges = all
	}
	return seen.gauges, nil
}

// readInstrument folds a gauge's record into what a reading copies: class,
// span, accuracy, the due date of the last calibration, the last good bump test.
func readInstrument(r schema.Record) Instrument {
	g := Instrument{ID: r.ID, Snapshot: schema.GaugeSnapshot{Gauge: r.ID}}
	if last, ok := state.LastSaid[schema.GaugeData](r); ok {
		g.describe(last.Data)
	}
	if last, ok := state.LastSaid[schema.CalibrationData](r); ok {
		g.Snapshot.Due = last.Data.Due
	}
	for _, check := range state.SaidIn[schema.CheckData](r) {
		if check.Data.Check == schema.BumpTest {
			g.bump(check.Entry.At, check.Data.Result)
		}
	}
	return g
}

func (g *Instrument) describe(d schema.GaugeData) {
	g.Data = d
	g.Snapshot.Span = difference(d.RangeLow, d.RangeHigh)
	g.Snapshot.Accuracy, g.Snapshot.Resolution, g.Snapshot.Sensor = d.Accuracy, d.Resolution, string(d.Sensor)
	if class, err := d.Class.SI(); err == nil {
		g.Snapshot.Class = trimmed(quantity.Write(class, "%", 3).Value)
	}
	if factor, err := d.GasFactor.SI(); err == nil {
		g.Snapshot.Factor = trimmed(quantity.Write(factor, "ratio", 3).Value)
	}
}

// bump keeps the last good bump test; a bad one takes it away.
func (g *Instrument) bump(at time.Time, result schema.CheckResult) {
	g.Snapshot.Bumped = ""
	if result == schema.Good {
		g.Snapshot.Bumped = at.UTC().Format(time.RFC3339)
	}
}

// trimmed takes zeros off the end of decimals: "1.600" is "1.6".
func trimmed(number string) string {
	if !strings.Contains(number, ".") {
		return number
	}
	return strings.TrimRight(strings.TrimRight(number, "0"), ".")
}

// spanDecimals keeps a width finer than anything that is written.
const spanDecimals = 6

// difference is how wide a range is, in the unit it was written in.
func difference(low, high quantity.Written) quantity.Written {
	if high.IsZero() || low.Unit != high.Unit {
		return quantity.Written{}
	}
	from, err1 := quantity.Of[quantity.Fraction](quantity.Written{Value: low.Value, Unit: "ratio"})
	to, err2 := quantity.Of[quantity.Fraction](quantity.Written{Value: high.Value, Unit: "ratio"})
	if err1 != nil || err2 != nil {
		return quantity.Written{}
	}
	return quantity.Written{Value: trimmed(quantity.Write(to-from, "ratio", spanDecimals).Value), Unit: high.Unit}
}

// State says whether its calibration counts.
func (g Instrument) State(now time.Time) string {
	switch {
	case g.Snapshot.Due == "":
		return "none"
	case state.Lapsed(g.Snapshot, now):
		return "OVERDUE since " + g.Snapshot.Due
	}
	return "due " + g.Snapshot.Due
}

// Measuring is which instruments read a quantity, by its dimension: the first
// that has any wins.
func Measuring(d quantity.Dimension) []schema.Measures {
	for _, m := range []struct {
		dimension quantity.Dimension
		by        []schema.Measures
	}{
		{quantity.Gauge(0).Dimension(), []schema.Measures{schema.MeasuresPressure}},
		{quantity.Difference(0).Dimension(), []schema.Measures{schema.MeasuresPressure}},
		{quantity.Absolute(0).Dimension(), []schema.Measures{schema.MeasuresManifold, schema.MeasuresPressure}},
		{quantity.Voltage(0).Dimension(), []schema.Measures{schema.MeasuresVolts, "voltage and current"}},
		{quantity.Current(0).Dimension(), []schema.Measures{schema.MeasuresAmps, "voltage and current"}},
		{quantity.Resistance(0).Dimension(), []schema.Measures{"resistance", "voltage and current"}},
		{quantity.LEL(0).Dimension(), []schema.Measures{schema.MeasuresGas}},
		{quantity.Torque(0).Dimension(), []schema.Measures{schema.MeasuresTorque}},
		{quantity.Temperature(0).Dimension(), []schema.Measures{"temperature"}},
		{quantity.Length(0).Dimension(), []schema.Measures{"length"}},
		{quantity.Flow(0).Dimension(), []schema.Measures{"flow"}},
		{quantity.Lambda(0).Dimension(), []schema.Measures{"lambda"}},
	} {
		if m.dimension == d {
			return m.by
		}
	}
	return nil
}

// Fitting lists the instruments that read a value: those of the first sort that
// the shop has any of. Durations, angles and volumes need none.
func Fitting(all []Instrument, tv schema.ReadingValue) []Instrument {
	for _, kind := range kindsFor(tv) {
		fit := slices.DeleteFunc(slices.Clone(all), func(g Instrument) bool { return g.Data.Measures != kind })
		if len(fit) > 0 {
			return fit
		}
	}
	return nil
}

// kindsFor is which instruments read a value, the usual sort first.
func kindsFor(tv schema.ReadingValue) []schema.Measures {
	switch {
	case len(tv.Accepts) == 0:
		return nil
	case tv.Name == "ethanol":
		return []schema.Measures{"ethanol"}
	}
	return Measuring(tv.Accepts[0])
}

// Reads reports that an instrument is of a sort that reads a value.
func (g Instrument) Reads(tv schema.ReadingValue) bool {
	return slices.Contains(kindsFor(tv), g.Data.Measures)
}

// UsualGauge is the one Instrument that fits a value, when only one does, or
// when the ranges of all others end below it.
func UsualGauge(all []Instrument, tv schema.ReadingValue, v schema.Value) (*Instrument, error) {
	fit := Fitting(all, tv)
	if reach := slices.DeleteFunc(slices.Clone(fit), func(g Instrument) bool { return g.endsBelow(v) }); len(reach) > 0 {
		fit = reach
	}
	switch len(fit) {
	case 0:
		return nil, nil
	case 1:
		return &fit[0], nil
	}
	return nil, usage("--gauge "+fit[0].ID+", or --gauge "+tv.Name+"="+fit[0].ID, tv.Name, "could be read with %s; say which", idsOf(fit))
}

// endsBelow reports a pressure gauge that could not have shown so much.
func (g Instrument) endsBelow(v schema.Value) bool {
	x, err := quantity.Of[quantity.Gauge](v.Written())
	high, unknown := quantity.Of[quantity.Gauge](g.Data.RangeHigh)
	return err == nil && unknown == nil && x > high
}

func idsOf(gauges []Instrument) string {
	var out []string
	for _, g := range gauges {
		out = append(out, fmt.Sprintf("%s (%s)", g.ID, g.Data.Name))
	}
	return strings.Join(out, ", ")
}

// AddGauge writes a new instrument at once.
func (d *Desk) AddGauge(ctx context.Context, id string, g schema.GaugeData) ([]schema.Entry, error) {
	view, err := d.View()
	if err != nil {
		return nil, err
	}
	if _, err := view.Record(schema.GaugeRecord, id); err == nil {
		return nil, failed("feedproof gauge list", "gauge "+id, "is in the shop already")
	}
	return d.Put(ctx, schema.GaugeRecord, id, d.Now(), g)
}
