package rules

import (
	"fmt"
	"math"
	"time"

	"feedproof/checklist/fuel"
	"feedproof/checklist/past"
	"feedproof/checklist/planning"
	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/quantity"
)

// Wear is what the timed flows of all visits since the pumps were last changed
// say of them: each against the curve, and from three on a trend.
type Wear struct {
	Tests   []WearTest
	Skipped []string          // tests that prove nothing, and why
	Axis    string            // what the tests are laid over: "km" or "days"
	Trend   *fuel.Wear        // nil below three tests
	Why     string            // why there is no trend
	New     quantity.Fraction // margin of the plan with pumps as new
	Level   quantity.Fraction // least margin of the plan
	Margin  quantity.Fraction // at the last test, by line or last ratio
	Low     quantity.Fraction // its lower bound, 95 % one-sided
	Until   float64           // where the lower bound meets Level, else as far as anything is said, on the axis
	Meets   bool
	PerDay  float64 // of the axis, over the span of the tests
	CurveU  float64
}

// WearTest is one timed flow against the curve.
type WearTest struct {
	Entry schema.Entry
	Visit string
	At    float64 // on the axis
	Flow  quantity.Flow
	Ratio fuel.Ratio
}

// Shop figures for a timed flow whose gauge says nothing: of the volume, and of
// a hand on a stopwatch.
const (
	volumeUnknown = 0.01
	handTime      = quantity.Duration(0.3)
)

// By is the day on which the lower bound meets the level, or on which nothing
// more is said, at the car's own pace; false without a pace.
func (w Wear) By() (time.Time, bool) {
	if len(w.Tests) == 0 || w.PerDay <= 0 {
		return time.Time{}, false
	}
	last := w.Tests[len(w.Tests)-1]
	days := (w.Until - last.At) / w.PerDay
	return last.Entry.At.Add(time.Duration(days * 24 * float64(time.Hour))), true
}

// WearOf reads them.
//
// Errors: a plan that cannot be computed; a pump whose curve cannot be read.
func WearOf(c *state.Car) (Wear, error) {
	s, err := planning.System(c)
	if err != nil {
		return Wear{}, err
	}
	r, err := planning.Compute(c)
	if err != nil {
		return Wear{}, err
	}
	w := Wear{Level: fuel.PlanningCriteria(s).Margin, CurveU: curveUncertainty(c)}
	w.New = newMargin(s, r)
	w.gather(c)
	w.judge()
	return w, nil
}

// newMargin is the plan's margin with pumps as new: a measured ratio stands in
// the place of the assumed ageing.
func newMargin(s fuel.System, r fuel.Result) quantity.Fraction {
	margin := quantity.Fraction(r.Delivery.New / r.Demand.Volume)
	if s.Fuel.Temperature > fuel.HotFuelFrom {
		margin *= fuel.HotFuel
	}
	return margin
}

func curveUncertainty(c *state.Car) float64 {
	for _, f := range c.Pumps() {
		if state.Unnumbered(f.Data.Position) != "pump" {
			continue
		}
		if f.Part == nil || f.Part.Pump == nil || f.Part.Pump.Source != "bench" {
			return fuel.CurvePrinted
		}
	}
	return fuel.CurveMeasured
}

// gather takes the tests of the pumps that are in now, by distance where every
// visit has its odometer, else by days.
func (w *Wear) gather(c *state.Car) {
	visits := past.Visits(c)
	var distances []float64
	w.Axis = "km"
	for _, r := range c.Readings {
		if r.Data.Test != "flow" || changedPump(c, r.Entry) {
			continue
		}
		t, why := wearTest(c, r)
		v, _ := past.VisitAt(visits, r.Entry)
		if why != "" {
			w.Skipped = append(w.Skipped, fmt.Sprintf("visit %s: %s", v.Number, why))
			continue
		}
		t.Visit = v.Number
		km, known := odometerOf(c, r.Entry)
		if !known {
			w.Axis = "days"
		}
		w.Tests, distances = append(w.Tests, t), append(distances, km)
	}
	for i := range w.Tests {
		w.Tests[i].At = distances[i]
		if w.Axis == "days" {
			w.Tests[i].At = w.Tests[i].Entry.At.Sub(w.Tests[0].Entry.At).Hours() / 24
		}
	}
	w.pace()
}

func (w *Wear) pace() {
	if len(w.Tests) < 2 {
		return
	}
	first, last := w.Tests[0], w.Tests[len(w.Tests)-1]
	if days := last.Entry.At.Sub(first.Entry.At).Hours() / 24; days > 0 {
		w.PerDay = (last.At - first.At) / days
	}
}

// changedPump reports that the readings of before say nothing of the pumps that
// are in now.
func changedPump(c *state.Car, e schema.Entry) bool {
	_, changed := c.ChangedAfter(e, "pump")
	return changed
}

// odometerOf is the car's distance in km when an entry was made: of the last
// visit that was opened before it.
func odometerOf(c *state.Car, e schema.Entry) (float64, bool) {
	km, known := 0.0, false
	for _, v := range c.VisitEntries {
		if schema.Order(v.Entry, e) > 0 {
			break
		}
		if d, err := v.Data.Odometer.SI(); v.Data.Action == schema.OpenVisit {
			km, known = quantity.In(d, "km"), err == nil
		}
	}
	return km, known
}

// wearTest is one reading against the curve, or why it proves nothing.
func wearTest(c *state.Car, r state.Reading) (WearTest, string) {
	volume, ok1 := read[quantity.Volume](c, r, "volume")
	span, ok2 := read[quantity.Duration](c, r, "time")
	pressure, ok3 := read[quantity.Gauge](c, r, "pressure")
	volts, ok4 := read[quantity.Voltage](c, r, "volts")
	switch {
	case !ok1 || !ok2 || !ok3 || !ok4:
		return WearTest{}, "volume, time, pressure and volts were not all read"
	case pressure.trouble.is():
		return WearTest{}, pressure.trouble.text()
	case volts.trouble.is():
		return WearTest{}, volts.trouble.text()
	case exceeds(float64(flowTime), float64(span.value)):
		return WearTest{}, "it was shorter than 15 s"
	}
	volumeU := max(volume.u, volume.diff/2)
	if volume.gauge == "" || volume.trouble.is() {
		volumeU = max(volumeU, volume.value*volumeUnknown)
	}
	test := fuel.TimedTest{
		Volume: volume.value, VolumeU: standard(volumeU), Time: span.value, TimeU: standard(max(span.u, span.diff/2, handTime)),
		Pressure: quantity.Difference(pressure.value), PressureU: quantity.Difference(standard(pressure.u)), Volts: volts.value, VoltsU: standard(volts.u),
	}
	ratio, err := fuel.FlowRatio(func(p quantity.Difference, v quantity.Voltage) (quantity.Flow, error) {
		return curveFlow(c, quantity.Gauge(p), v)
	}, test)
	if err != nil {
		return WearTest{}, err.Error()
	}
	return WearTest{Entry: r.Entry, Flow: quantity.Flow(float64(volume.value) / float64(span.value)), Ratio: ratio}, ""
}

// standard is the standard uncertainty of a limit of error: rectangular, so
// divided by the root of three. Source: JCGM 100:2008 4.3.7.
func standard[Q quantity.Quantity](limit Q) Q { return limit / Q(math.Sqrt(3)) }

// judge fits the trend and bounds the margin.
func (w *Wear) judge() {
	if len(w.Tests) == 0 {
		w.Why = "no timed flow of these pumps: what is left of a new pump's flow is assumed"
		return
	}
	last := w.Tests[len(w.Tests)-1]
	w.Margin = w.New * quantity.Fraction(last.Ratio.Value)
	w.Low = w.New * quantity.Fraction(last.Ratio.Value-normal95*math.Hypot(last.Ratio.U, w.CurveU))
	w.Until = last.At
	seen := w.observed()
	if len(seen) < fuel.TrendVisits {
		w.Why = fmt.Sprintf("%d tests at different distances or days, a trend takes %d", len(seen), fuel.TrendVisits)
		return
	}
	t, err := fuel.FitWear(seen, w.CurveU)
	if err != nil {
		w.Why = err.Error()
		return
	}
	w.Trend = &t
	w.Margin, w.Low = w.New*quantity.Fraction(t.Line.At(t.Last())), w.New*quantity.Fraction(t.Low(t.Last()))
	w.Until, w.Meets = t.Meets(float64(w.Level / w.New))
}

const (
	normal95   = 1.645 // one-sided
	apartLeast = 1     // km or days between tests that count as two
)

// observed is the tests as readings of a line; those at one place become their
// weighted mean.
func (w *Wear) observed() []fuel.Observed {
	var out []fuel.Observed
	for _, t := range w.Tests {
		o := fuel.Observed{X: t.At, Y: t.Ratio.Value, U: t.Ratio.U}
		if n := len(out); n > 0 && o.X < out[n-1].X+apartLeast {
			a, b := 1/(out[n-1].U*out[n-1].U), 1/(o.U*o.U)
			out[n-1].Y, out[n-1].U = (a*out[n-1].Y+b*o.Y)/(a+b), 1/math.Sqrt(a+b)
			continue
		}
		out = append(out, o)
	}
	return out
}
