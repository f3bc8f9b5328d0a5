package fuel

import (
	"math"

	"feedproof/schema/quantity"
)

// SeaLevel is the standard barometer at altitude zero.
const SeaLevel quantity.Absolute = 101325

// Air is the state of the standard atmosphere.
type Air struct {
	Temperature quantity.Temperature
	Pressure    quantity.Absolute
	Density     quantity.Density
}

// StandardAtmosphere at a geometric altitude z: H = 6356766 z/(6356766+z),
// T = 288.15 - 0.0065 H, p = 101325 (T/288.15)^5.25588, rho = p/(287.05287 T).
// Range -500 to 11000 m. Source: US Standard Atmosphere 1976 / ISO 2533:1975.
func StandardAtmosphere(altitude quantity.Length) (Air, error) {
	if err := within("altitude", altitude, -500, 11000); err != nil {
		return Air{}, err
	}
	z := float64(altitude)
	t := 288.15 - 0.0065*6356766*z/(6356766+z)
	p := float64(SeaLevel) * math.Pow(t/288.15, 5.25588)
	return Air{quantity.Temperature(t), quantity.Absolute(p), quantity.Density(p / (gasConstantAir * t))}, nil
}

// Specific gas constants of dry air, J/(kg K): the standard atmosphere's, and
// the rounded one of engine tests.
const (
	gasConstantAir = 287.05287
	gasConstant    = 287.05
)

// SAECorrection is the power correction factor of SAE J1349 (JUN90):
// 1.180 (990/Pd) ((Tc+273)/298)^0.5 - 0.18, Pd the dry barometer in hPa. A
// printed figure is the observed power times it. Range 900 to 1050 hPa, 0 to 50
// degC. Not for boosted engines that hold manifold pressure.
func SAECorrection(dry quantity.Absolute, t quantity.Temperature) (quantity.Fraction, error) {
	if err := correctionRange(dry, t); err != nil {
		return 0, err
	}
	ratio := 990 / (float64(dry) / quantity.Mbar)
	return quantity.Fraction(1.180*ratio*math.Sqrt((float64(t)-0.15)/298) - 0.18), nil
}

// ISOCorrection is alpha_a of ISO 1585:1992 / UN R85 for spark ignition:
// (99/ps)^1.2 (T/298)^0.6 with ps in kPa dry (from memory). The standard
// accepts 0.93 to 1.07 only; the factor outside it is returned for comparison.
func ISOCorrection(dry quantity.Absolute, t quantity.Temperature) (quantity.Fraction, error) {
	if err := correctionRange(dry, t); err != nil {
		return 0, err
	}
	return quantity.Fraction(math.Pow(99e3/float64(dry), 1.2) * math.Pow((float64(t)-0.15)/298, 0.6)), nil
}

func correctionRange(dry quantity.Absolute, t quantity.Temperature) error {
	return first(within("dry barometer", dry, 90e3, 105e3), within("intake air temperature", t, celsius(0), celsius(50)))
}
