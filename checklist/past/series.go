package past

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/quantity"
)

// Point is one value of a quantity, as it was read.
type Point struct {
	Entry   schema.Entry
	Visit   string
	Test    string
	Written string  // as written
	Value   float64 // in the series' unit
	Gauge   string
	With    string // conditions that were written with it
}

// Series is a quantity of a car through the years.
type Series struct {
	Name   string // "base rail"
	Unit   string // of the values
	Points []Point
}

// Difference names the series that no test reads by itself: rail against
// manifold pressure under load.
const Difference = "difference"

// Read collects every value of that name in readings of a test, in order, in
// the usual unit of its dimension. Values that are no number, such as "not
// measured", are left out. [Difference] of "load" and "slope" is computed: the
// rail's gauge pressure less the manifold's, at the barometer of the reading,
// else of sea level.
//
// Errors: the test or the value is none that readings have.
func Read(c *state.Car, test, value string) (Series, error) {
	t, ok := schema.FindReading(test)
	if !ok {
		return Series{}, fmt.Errorf("%q is not a test", test)
	}
	s := Series{Name: test + " " + value}
	read, unit, err := reader(t, value)
	if err != nil {
		return s, err
	}
	s.Unit = unit
	visits := Visits(c)
	for _, r := range c.Readings {
		if r.Data.Test != test {
			continue
		}
		v, _ := VisitAt(visits, r.Entry)
		for _, p := range read(r) {
			p.Entry, p.Visit, p.Test, p.With = r.Entry, v.Number, test, conditions(r.Data.Conditions)
			s.Points = append(s.Points, p)
		}
	}
	return s, nil
}

// reader makes the points of one reading.
func reader(t schema.Reading, value string) (func(state.Reading) []Point, string, error) {
	if value == Difference && (t.Name == "load" || t.Name == "slope") {
		return differences, "bar", nil
	}
	tv, ok := t.Value(value)
	if !ok || len(tv.Accepts) == 0 {
		return nil, "", fmt.Errorf("%q is not a measured value of %s: %s", value, t.Name, strings.Join(Measured(t), ", "))
	}
	for _, d := range dimensions {
		if d.dimension == tv.Accepts[0] {
			return func(r state.Reading) []Point { return values(r, value, d.in) }, d.unit, nil
		}
	}
	return nil, "", fmt.Errorf("%s: %s is not followed through the years", t.Name, tv.Accepts[0])
}

// Measured lists the values of a test that are numbers.
func Measured(t schema.Reading) []string {
	var names []string
	for _, v := range t.Values {
		if len(v.Accepts) > 0 {
			names = append(names, v.Name)
		}
	}
	if t.Name == "load" || t.Name == "slope" {
		names = append(names, Difference)
	}
	return names
}

// dimension is what a series can be of, with the usual unit that it is shown
// in.
type dimension struct {
	dimension quantity.Dimension
	unit      string
	in        func(quantity.Written, *schema.Conditions) (float64, bool)
}

var dimensions = []dimension{
	of[quantity.Gauge](), manifolds, of[quantity.Voltage](), of[quantity.Current](), of[quantity.Resistance](), of[quantity.LEL](),
	of[quantity.Fraction](), of[quantity.Temperature](), of[quantity.Duration](), of[quantity.Volume](), of[quantity.Flow](),
	of[quantity.Difference](), of[quantity.Length](), of[quantity.Torque](), of[quantity.Lambda](), of[quantity.Angle](),
}

func of[Q quantity.Quantity]() dimension {
	var zero Q
	unit := quantity.Symbols(zero.Dimension())[0]
	return dimension{zero.Dimension(), unit, func(w quantity.Written, _ *schema.Conditions) (float64, bool) {
		q, err := quantity.Of[Q](w)
		return quantity.In(q, unit), err == nil
	}}
}

var manifolds = dimension{quantity.Absolute(0).Dimension(), "kPa abs", manifold}

// manifold reads a manifold pressure as absolute, also one written against
// the barometer.
func manifold(w quantity.Written, c *schema.Conditions) (float64, bool) {
	if a, err := quantity.Of[quantity.Absolute](w); err == nil {
		return quantity.In(a, "kPa abs"), true
	}
	g, err := quantity.Of[quantity.Gauge](w)
	if err != nil {
		return 0, false
	}
	return quantity.In(g.Above(barometer(c)), "kPa abs"), true
}

func barometer(c *schema.Conditions) quantity.Absolute {
	if c == nil {
		return state.StandardBarometer
	}
	return c.Barometer.Or(state.StandardBarometer)
}

func values(r state.Reading, name string, in func(quantity.Written, *schema.Conditions) (float64, bool)) []Point {
	var out []Point
	for _, v := range r.Values(name) {
		if x, ok := in(v.Written(), r.Data.Conditions); ok {
			p := Point{Written: v.Written().String(), Value: x}
			if v.Gauge != nil {
				p.Gauge = v.Gauge.Gauge
			}
			out = append(out, p)
		}
	}
	return out
}

// differences pairs the rail and manifold values of a reading in their order.
func differences(r state.Reading) []Point {
	rails, boost := values(r, "rail", of[quantity.Gauge]().in), values(r, "manifold", manifold)
	baro := quantity.In(barometer(r.Data.Conditions), "kPa abs")
	var out []Point
	for i := range min(len(rails), len(boost)) {
		p := rails[i]
		p.Value -= (boost[i].Value - baro) / 100 // kPa to bar
		p.Written += " less " + boost[i].Written
		out = append(out, p)
	}
	return out
}

// conditions are those that were written, in words.
func conditions(c *schema.Conditions) string {
	if c == nil {
		return ""
	}
	var said []string
	for _, part := range []struct{ name, value string }{
		{"hose", c.Hose}, {"engine", c.Engine}, {"", c.Speed.String()}, {"fuel", c.FuelLevel.String()}, {"ethanol", c.Ethanol.String()},
		{"fuel at", c.FuelTemp.String()}, {"air at", c.AirTemp.String()}, {"barometer", c.Barometer.String()}, {"charger", string(c.Charger)},
	} {
		if part.value != "" {
			said = append(said, strings.TrimSpace(part.name+" "+part.value))
		}
	}
	return strings.Join(said, ", ")
}

// Trend is the straight line through a series over time, by least squares.
type Trend struct {
	PerYear float64 // in the series' unit
	First   float64 // of the line at the first point
	Last    float64 // of the line at the last point
	Years   float64 // between the two
	Drifts  bool    // the means of the last three visits each moved the same way
}

const year = 365.25 * 24 * time.Hour

// Trend fits a line. It needs two points a day or more apart.
func (s Series) Trend() (Trend, bool) {
	if len(s.Points) < 2 {
		return Trend{}, false
	}
	begin := s.Points[0].Entry.At
	var n, sx, sy, sxx, sxy float64
	last := begin
	for _, p := range s.Points {
		x := float64(p.Entry.At.Sub(begin)) / float64(year)
		n, sx, sy, sxx, sxy = n+1, sx+x, sy+p.Value, sxx+x*x, sxy+x*p.Value
		if p.Entry.At.After(last) {
			last = p.Entry.At
		}
	}
	spread := n*sxx - sx*sx
	years := float64(last.Sub(begin)) / float64(year)
	if last.Sub(begin) < 24*time.Hour || spread <= 0 {
		return Trend{}, false
	}
	slope := (n*sxy - sx*sy) / spread
	at := (sy - slope*sx) / n
	return Trend{PerYear: slope, First: at, Last: at + slope*years, Drifts: s.drifts(), Years: years}, true
}

// drifting is how many visits in one direction are a drift.
const drifting = 3

// drifts reports that the last visits each moved the same way, by the mean of
// each visit.
func (s Series) drifts() bool {
	means := s.visitMeans()
	if len(means) <= drifting {
		return false
	}
	means = means[len(means)-drifting-1:]
	var up, down int
	for i := 1; i < len(means); i++ {
		switch d, noise := means[i]-means[i-1], rounding*math.Max(1, math.Abs(means[i])); {
		case d > noise:
			up++
		case d < -noise:
			down++
		}
	}
	return up == drifting || down == drifting
}

func (s Series) visitMeans() []float64 {
	var order []string
	sums, counts := map[string]float64{}, map[string]float64{}
	for _, p := range s.Points {
		if !slices.Contains(order, p.Visit) {
			order = append(order, p.Visit)
		}
		sums[p.Visit] += p.Value
		counts[p.Visit]++
	}
	out := make([]float64, len(order))
	for i, v := range order {
		out[i] = sums[v] / counts[v]
	}
	return out
}
