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
