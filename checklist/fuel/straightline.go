package fuel

import (
	"fmt"
	"math"
	"slices"
)

// Observed is one reading of a series with its standard uncertainty; zero: not
// stated, for all of a series or for none.
type Observed struct{ X, Y, U float64 }

// StraightLine is y = Mean + Slope (x - Centre), fitted by least squares with
// weights 1/u^2. Centred, so that the two coefficients are uncorrelated and no
// digits are lost to odometer readings.
type StraightLine struct {
	Centre, Mean, Slope float64
	Weight              float64 // sum of the weights
	Spread              float64 // sum of the weighted squared distances from Centre
	ChiSquared          float64 // sum of the weighted squared residuals
	Freedom             int     // degrees of freedom, n - 2
	Scatter             float64 // variance of unit weight: 1 with stated uncertainties, else ChiSquared/Freedom
}

// FitLine fits a straight line. Source: JCGM 100:2008 H.3; ISO/TS 28037:2010 6.
//
// Errors: fewer than two readings, or all at one place; some with an uncertainty
// and some without; two readings and no uncertainty.
func FitLine(seen []Observed) (StraightLine, error) {
	weigh, err := weights(seen)
	if err != nil {
		return StraightLine{}, err
	}
	var f StraightLine
	for i, o := range seen {
		f.Weight += weigh[i]
		f.Centre += weigh[i] * o.X
		f.Mean += weigh[i] * o.Y
	}
	f.Centre /= f.Weight
	f.Mean /= f.Weight
	for i, o := range seen {
		d := o.X - f.Centre
		f.Spread += weigh[i] * d * d
		f.Slope += weigh[i] * d * (o.Y - f.Mean)
	}
	if !(f.Spread > 0) {
		return StraightLine{}, fmt.Errorf("straight line: all %d readings are at the same place, %g", len(seen), seen[0].X)
	}
	f.Slope /= f.Spread
	for i, o := range seen {
		e := o.Y - f.At(o.X)
		f.ChiSquared += weigh[i] * e * e
	}
	f.Freedom, f.Scatter = len(seen)-2, 1
	if seen[0].U == 0 {
		if f.Freedom == 0 {
			return StraightLine{}, fmt.Errorf("straight line: two readings without uncertainty say nothing about its own")
		}
		f.Scatter = f.ChiSquared / float64(f.Freedom)
	}
	return f, nil
}

func weights(seen []Observed) ([]float64, error) {
	if len(seen) < 2 {
		return nil, fmt.Errorf("straight line: %d readings, at least two are needed", len(seen))
	}
	w := make([]float64, len(seen))
	for i, o := range seen {
		if (o.U > 0) != (seen[0].U > 0) || o.U < 0 || math.IsNaN(o.X+o.Y+o.U) || math.IsInf(o.X+o.Y+o.U, 0) {
			return nil, fmt.Errorf("straight line: reading %d (%g, %g, uncertainty %g): an uncertainty for all of them or for none", i+1, o.X, o.Y, o.U)
		}
		w[i] = 1
		if o.U > 0 {
			w[i] = 1 / (o.U * o.U)
		}
	}
	return w, nil
}

// At is the line at x.
func (f StraightLine) At(x float64) float64 { return f.Mean + f.Slope*(x-f.Centre) }

// Variance of [StraightLine.At].
func (f StraightLine) Variance(x float64) float64 {
	d := x - f.Centre
	return f.Scatter * (1/f.Weight + d*d/f.Spread)
}

// SlopeUncertainty is the standard uncertainty of the slope.
func (f StraightLine) SlopeUncertainty() float64 { return math.Sqrt(f.Scatter / f.Spread) }

// Residual is the left-out residual of reading i over its standard uncertainty:
// how far it lies off the line through the others. Beyond 3 it is an outlier.
func Residual(seen []Observed, i int) (float64, error) {
	f, err := FitLine(slices.Delete(slices.Clone(seen), i, i+1))
	if err != nil {
		return 0, err
	}
	o := seen[i]
	return (o.Y - f.At(o.X)) / math.Sqrt(o.U*o.U+f.Variance(o.X)), nil
}

// MedianSlope is the median of the slopes of all pairs, which one bad reading
// does not move far. Source: Theil (1950), Sen (1968).
func MedianSlope(seen []Observed) (float64, error) {
	var slopes []float64
	for i, a := range seen {
		for _, b := range seen[i+1:] {
			if a.X != b.X {
				slopes = append(slopes, (b.Y-a.Y)/(b.X-a.X))
			}
		}
	}
	if len(slopes) == 0 {
		return 0, fmt.Errorf("median slope: no two readings at different places")
	}
	slices.Sort(slopes)
	n := len(slopes)
	return (slopes[(n-1)/2] + slopes[n/2]) / 2, nil
}

// normal95 is the one-sided 95 % point of the normal distribution.
const normal95 = 1.6448536269514722

// Student95 is the one-sided 95 % point of Student's distribution: by solving
// its cumulative distribution for up to 30 degrees of freedom, and beyond that
// the normal one, less than 4 % lower. Source: definition of the distribution;
// JCGM 100 Table G.2, column of 90 % (from memory).
func Student95(freedom int) (float64, error) {
	if freedom < 1 {
		return 0, fmt.Errorf("t distribution: %d degrees of freedom, from 1", freedom)
	}
	if freedom > 30 {
		return normal95, nil
	}
	return student[freedom-1], nil
}

var student = func() (table [30]float64) {
	for i := range table {
		low, high := 1.0, 10.0
		for range 60 {
			if middle := (low + high) / 2; studentTail(middle, i+1) > 0.05 {
				low = middle
			} else {
				high = middle
			}
		}
		table[i] = (low + high) / 2
	}
	return table
}()

// studentTail is the chance of more than t, by the finite sums for whole
// degrees of freedom. Source: Abramowitz & Stegun 26.7.3 and 26.7.4.
func studentTail(t float64, n int) float64 {
	theta := math.Atan(t / math.Sqrt(float64(n)))
	sin, cos := math.Sin(theta), math.Cos(theta)
	between := 0.0 // chance of |T| < t
	if n%2 == 0 {
		term := 1.0
		for k := 0; k < n/2; k++ {
			between += term
			term *= float64(2*k+1) / float64(2*k+2) * cos * cos
		}
		between *= sin
	} else {
		term := cos
		for k := 0; k < (n-1)/2; k++ {
			between += term
			term *= float64(2*k+2) / float64(2*k+3) * cos * cos
		}
		between = 2 / math.Pi * (theta + sin*between)
	}
	return (1 - between) / 2
}
