package fuel

import (
	"fmt"
	"math"
	"slices"

	"feedproof/schema/quantity"
)

// TimedTest is one timed flow of a pump: what ran in which time, at which
// pressure and volts, each with its standard uncertainty.
type TimedTest struct {
	Volume, VolumeU     quantity.Volume
	Time, TimeU         quantity.Duration
	Pressure, PressureU quantity.Difference
	Volts, VoltsU       quantity.Voltage
}

// Ratio is measured flow over the curve's at the same pressure and volts, with
// its standard uncertainty. The curve's own is common to all tests and left out.
type Ratio struct{ Value, U float64 }

// FlowRatio of a test against new flow:
// (u/r)^2 = (u_vol/vol)^2 + (u_t/t)^2 + (dQ/dp u_p/Q)^2 + (dQ/dV u_V/Q)^2, the
// slopes from the curve itself. Source: JCGM 100:2008 5.1.
//
// Errors: a test outside the curve.
func FlowRatio(flow func(quantity.Difference, quantity.Voltage) (quantity.Flow, error), t TimedTest) (Ratio, error) {
	if err := first(positive("volume of the flow test", t.Volume), positive("time of the flow test", t.Time)); err != nil {
		return Ratio{}, err
	}
	q, err := flow(t.Pressure, t.Volts)
	if err != nil {
		return Ratio{}, err
	}
	if err := positive("flow of the curve there", q); err != nil {
		return Ratio{}, err
	}
	const bar, volt = 0.01 * quantity.Bar, 0.01
	byPressure := steepness(func(d float64) (quantity.Flow, error) { return flow(t.Pressure+quantity.Difference(d), t.Volts) }, q, bar)
	byVolts := steepness(func(d float64) (quantity.Flow, error) { return flow(t.Pressure, t.Volts+quantity.Voltage(d)) }, q, volt)
	r := float64(t.Volume) / float64(t.Time) / float64(q)
	u := math.Sqrt(sum2(float64(t.VolumeU/t.Volume), float64(t.TimeU/t.Time), byPressure*float64(t.PressureU)/float64(q), byVolts*float64(t.VoltsU)/float64(q)))
	return Ratio{r, r * u}, nil
}

// steepness is the slope around a point: of both sides where the curve has
// both, of the one it has at its end.
func steepness(f func(float64) (quantity.Flow, error), at quantity.Flow, d float64) float64 {
	up, err1 := f(d)
	down, err2 := f(-d)
	switch {
	case err1 == nil && err2 == nil:
		return float64(up-down) / (2 * d)
	case err1 == nil:
		return float64(up-at) / d
	case err2 == nil:
		return float64(at-down) / d
	}
	return 0
}

func sum2(v ...float64) float64 {
	s := 0.0
	for _, x := range v {
		s += x * x
	}
	return s
}

// Shop figures of the trend.
const (
	CurveMeasured   = 0.01 // standard uncertainty of a measured curve, relative
	CurvePrinted    = 0.05 // of a print without conditions
	TrendVisits     = 3    // least tests for a trend
	TrendSpan       = 0.1  // least span of the tests over the distance asked about
	OutlierResidual = 3.0
	OutlierVisits   = 4 // least tests to tell which is the outlier
	Disagreement    = 4.0
)

// Wear is what timed flow tests of one pump say of its loss: a straight line
// of the ratio over running hours, distance or time, never a mix of them.
type Wear struct {
	Line     StraightLine
	Tests    []Observed // X what was run, Y the ratio, U its standard uncertainty
	CurveU   float64    // relative, common to all tests
	Factor   float64    // k: the larger of what the gauges promise and what the scatter shows
	Outliers []int      // marked, never dropped
	Median   float64    // slope by [MedianSlope], beside the line's
}

// FitWear draws the line through three tests or more, in the order they were run.
//
// Errors: fewer than three tests; two at one place; a ratio that cannot be.
func FitWear(tests []Observed, curveU float64) (Wear, error) {
	if len(tests) < TrendVisits {
		return Wear{}, fmt.Errorf("trend of the pump: %d tests, from %d; a line through two has no spare", len(tests), TrendVisits)
	}
	for i, o := range tests {
		if !(o.U > 0) || !(o.Y > 0) || o.Y > 2 {
			return Wear{}, fmt.Errorf("trend of the pump, test %d: ratio %.3f with uncertainty %.3f; the ratio is from 0 to 2, its uncertainty more than zero", i+1, o.Y, o.U)
		}
		if i > 0 && o.X <= tests[i-1].X {
			return Wear{}, fmt.Errorf("trend of the pump, test %d: at %g, not after %g; the distance or time between tests rises", i+1, o.X, tests[i-1].X)
		}
	}
	line, err := FitLine(tests)
	if err != nil {
		return Wear{}, err
	}
	w := Wear{Line: line, Tests: slices.Clone(tests), CurveU: curveU}
	t, err := Student95(line.Freedom)
	if err != nil {
		return Wear{}, err
	}
	w.Factor = max(normal95, t*math.Sqrt(line.ChiSquared/float64(line.Freedom)))
	w.Median, _ = MedianSlope(tests)
	for i := range tests {
		if e, err := Residual(tests, i); err == nil && len(tests) >= OutlierVisits && math.Abs(e) > OutlierResidual {
			w.Outliers = append(w.Outliers, i)
		}
	}
	return w, nil
}

// Low is the one-sided 95 % lower bound of the ratio at x:
// y - sqrt(k^2 var y + (1.645 u_c)^2).
func (w Wear) Low(x float64) float64 {
	return w.Line.At(x) - math.Sqrt(w.Factor*w.Factor*w.Line.Variance(x)+sum2(normal95*w.CurveU))
}

// Last is where the newest test was, and Span how far apart the tests lie.
func (w Wear) Last() float64 { return w.Tests[len(w.Tests)-1].X }

// Span of the tests.
func (w Wear) Span() float64 { return w.Last() - w.Tests[0].X }

// Shown reports that the slope is below zero beyond its uncertainty.
func (w Wear) Shown() bool { return w.Line.Slope+w.Factor/math.Sqrt(w.Line.Spread) <= 0 }

// Disagree reports that the tests scatter more than their gauges allow.
func (w Wear) Disagree() bool { return w.Line.ChiSquared/float64(w.Line.Freedom) > Disagreement }

// Meets is the first x from the last test on where the lower bound falls to a
// ratio; false when it does not within one more span: nothing is said beyond.
func (w Wear) Meets(level float64) (x float64, meets bool) {
	last, f := w.Last(), w.Line
	if w.Low(last) <= level {
		return last, true
	}
	k2, y, c := w.Factor*w.Factor, f.Mean-level, normal95*w.CurveU
	a2, a1, a0 := f.Slope*f.Slope-k2/f.Spread, 2*f.Slope*y, y*y-k2/f.Weight-c*c
	for _, d := range quadratic(a2, a1, a0) {
		if x := f.Centre + d; x >= last && y+f.Slope*d >= 0 && x <= last+w.Span() {
			return x, true
		}
	}
	return last + w.Span(), false
}

// quadratic gives the real roots of a2 d^2 + a1 d + a0, the smaller first.
func quadratic(a2, a1, a0 float64) []float64 {
	if a2 == 0 {
		if a1 == 0 {
			return nil
		}
		return []float64{-a0 / a1}
	}
	disc := a1*a1 - 4*a2*a0
	if disc < 0 {
		return nil
	}
	s := -(a1 + math.Copysign(math.Sqrt(disc), a1)) / 2
	roots := []float64{s / a2}
	if s != 0 {
		roots = append(roots, a0/s)
	}
	slices.Sort(roots)
	return roots
}
