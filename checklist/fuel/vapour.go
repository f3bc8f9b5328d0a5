package fuel

import (
	"math"

	"feedproof/schema/quantity"
)

// GasolineSlope is the ASTM D86 slope at 10 % of motor gasoline, degF per
// volume percent. Source: EPA AP-42 ch. 7.1.
const GasolineSlope = 3.0

// VapourConstants are A and B of ln p[psia] = A - B/T[degR] for a refined
// stock with a Reid vapour pressure and distillation slope S:
// A = 15.64 - 1.854 sqrt S - (0.8742 - 0.3280 sqrt S) ln RVP,
// B = 8742 - 1042 sqrt S - (1049 - 179.4 sqrt S) ln RVP.
// Range RVP 1 to 20 psi. Source: US EPA AP-42 ch. 7.1, Figure 7.1-15.
func VapourConstants(rvp quantity.Absolute, slope float64) (a, b float64, err error) {
	if err := within("Reid vapour pressure", rvp, 1*quantity.PSI, 20*quantity.PSI); err != nil {
		return 0, 0, err
	}
	s, l := math.Sqrt(slope), math.Log(float64(rvp)/quantity.PSI)
	a = 15.64 - 1.854*s - (0.8742-0.3280*s)*l
	b = 8742 - 1042*s - (1049-179.4*s)*l
	return a, b, nil
}

// VapourPressure of hydrocarbon gasoline at temperature from its RVP. For E0
// to E10 only: it is not a fit for ethanol blends. Range -20 to 100 degC; the
// published table ends at 38 degC. Source: US EPA AP-42 ch. 7.1, Figure 7.1-14b.
func VapourPressure(rvp quantity.Absolute, t quantity.Temperature) (quantity.Absolute, error) {
	a, b, err := VapourConstants(rvp, GasolineSlope)
	if err != nil {
		return 0, err
	}
	if err := within("fuel temperature", t, celsius(-20), celsius(100)); err != nil {
		return 0, err
	}
	return quantity.Absolute(math.Exp(a-b/(1.8*float64(t))) * quantity.PSI), nil
}

// VapourLimit is the temperature at which vapour pressure reaches a pressure.
func VapourLimit(rvp, pressure quantity.Absolute) (quantity.Temperature, error) {
	a, b, err := VapourConstants(rvp, GasolineSlope)
	if err != nil {
		return 0, err
	}
	if err := positive("pressure over the fuel", pressure); err != nil {
		return 0, err
	}
	t := quantity.Temperature(b / (a - math.Log(float64(pressure)/quantity.PSI)) / 1.8)
	return t, within("boiling limit", t, celsius(-20), celsius(100))
}

// Antoine is log10 p[Pa] = A - B/(T[K] + C) between two temperatures.
type Antoine struct {
	A, B, C   float64
	Low, High quantity.Temperature
}

// EthanolAntoine is of ethanol: Poling, Prausnitz, O'Connell (2001), Appendix A; the range
// there starts at 276.5 K and is carried to 0 degC, where other published sets
// agree within 4 %.
var EthanolAntoine = Antoine{10.33675, 1648.220, -42.232, 273.15, 369.5}
