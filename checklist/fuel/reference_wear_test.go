package fuel

import "math"

// Here: what a fitted line says of its own uncertainty. The published rows hold
// them, and through them what the program computes; no program calls them.

// Intercept is the line at zero and its standard uncertainty.
func (f StraightLine) Intercept() (value, uncertainty float64) {
	return f.At(0), math.Sqrt(f.Variance(0))
}

// Covariance of intercept and slope.
func (f StraightLine) Covariance() float64 { return -f.Scatter * f.Centre / f.Spread }

// Band is where a new test with a standard uncertainty is expected at x.
func (w Wear) Band(x, u float64) (low, high float64) {
	half := w.Factor * math.Sqrt(w.Line.Variance(x)+u*u)
	return w.Line.At(x) - half, w.Line.At(x) + half
}
