package datalog

import (
	"cmp"
	"math"
	"slices"

	"feedproof/schema/quantity"
)

// slopeSpan is the least span of manifold pressure that a slope means
// something over (common practice, L05).
const slopeSpan = 100e3 // Pa

// fits computes the slope of rail against manifold pressure, and what explains
// the pressure difference of the worst pull.
func (a *analysis) fits(r *Result) {
	r.Slope, r.SlopePulls = slopeOf(a.slopePull), true
	if !r.Slope.Known {
		r.Slope, r.SlopePulls = slopeOf(a.slopeAll), false
	}
	r.Fits = explain(r.Worst)
}

func slopeOf(m spanned) Fit {
	f := Fit{Against: "manifold pressure", Samples: int(m.n), Span: quantity.Absolute(m.span())}
	if m.n >= 3 && m.span() >= slopeSpan {
		f.Slope, f.R2, f.Known = quantity.Fraction(m.slope()), quantity.Fraction(m.r2()), true
		lack := m.moments
		lack.syy, lack.sxy = m.syy-2*m.sxy+m.sxx, m.sxy-m.sxx // of y - x
		f.LackR2 = quantity.Fraction(lack.r2())
	}
	return f
}

// explanations are what a pressure difference is held against.
var explanations = []struct {
	name string
	of   func(Point) float64
}{
	{"manifold pressure", func(p Point) float64 { return float64(p.Manifold) }},
	{"flow", func(p Point) float64 { return float64(p.Demand) }},
	{"flow squared", func(p Point) float64 { return float64(p.Demand) * float64(p.Demand) }},
	{"pump voltage", func(p Point) float64 { return float64(p.PumpVoltage) }},
	{"fuel temperature", func(p Point) float64 { return float64(p.FuelTemp) }},
}

// explain fits the pressure difference to each explanation, the best first.
func explain(points []Point) []Fit {
	var fits []Fit
	for _, e := range explanations {
		m := against(points, e.of)
		if m.n < 3 || m.sxx <= 0 {
			continue
		}
		f := Fit{Against: e.name, R2: quantity.Fraction(m.r2()), Samples: int(m.n), Known: true}
		if e.name == "manifold pressure" {
			f.Slope, f.Span = quantity.Fraction(m.slope()), quantity.Absolute(m.span())
		}
		fits = append(fits, f)
	}
	slices.SortStableFunc(fits, func(a, b Fit) int { return cmp.Compare(b.R2, a.R2) })
	return fits
}

func against(points []Point, of func(Point) float64) (m spanned) {
	for _, p := range points {
		m.add(of(p), float64(p.Drop))
	}
	return m
}

// Predictor is a model of the fuel system: the pressure difference it expects
// at a logged point, or false where it cannot say.
type Predictor func(Point) (quantity.Difference, bool)

// Hypothesis is a named model: the system as planned, or with one fault.
type Hypothesis struct {
	Name    string
	Predict Predictor
}

// Residual is how far a model is from what was logged.
type Residual struct {
	Name  string
	Mean  quantity.Difference // measured less predicted
	RMS   quantity.Difference
	Worst Worst[quantity.Difference] // furthest below the prediction, as a positive number
	Asked int                        // points at which the model could say
}

// Compare holds a log's points against models, the best first. A model that
// could not answer at half of the points or more comes last.
func Compare(points []Point, models []Hypothesis) []Residual {
	var out []Residual
	for _, h := range models {
		out = append(out, residual(points, h))
	}
	answered := func(r Residual) bool { return 2*r.Asked > len(points) }
	slices.SortStableFunc(out, func(a, b Residual) int {
		if x, y := answered(a), answered(b); x != y {
			if x {
				return -1
			}
			return 1
		}
		return cmp.Compare(a.RMS, b.RMS)
	})
	return out
}

func residual(points []Point, h Hypothesis) Residual {
	r := Residual{Name: h.Name}
	sum, squares := 0.0, 0.0
	var worst extreme
	for _, p := range points {
		predicted, ok := h.Predict(p)
		if !ok || !known(p.Drop) || !known(predicted) {
			continue
		}
		off := float64(p.Drop - predicted)
		sum += off
		squares += off * off
		worst.add(float64(p.At), -off)
		r.Asked++
	}
	if r.Asked > 0 {
		n := float64(r.Asked)
		r.Mean, r.RMS = quantity.Difference(sum/n), quantity.Difference(math.Sqrt(squares/n))
		r.Worst = highest[quantity.Difference](worst)
	}
	return r
}
