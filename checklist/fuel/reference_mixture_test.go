package fuel

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"feedproof/schema/quantity"
)

// Here: densities, heats and air of fuels by their standards. The published rows hold
// them, and through them what the program computes; no program calls them.

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

// GasolineViscosity at temperature: ln nu = A + B/T. Range -30 to 60 degC;
// gasolines differ by 20 %. Source: two points of the US DOE fuel properties table.
func GasolineViscosity(t quantity.Temperature) (quantity.Viscosity, error) {
	if err := within("gasoline temperature", t, celsius(-30), celsius(60)); err != nil {
		return 0, err
	}
	return quantity.Viscosity(float64(Gasoline.Viscosity) * math.Exp(gasolineThinning*(1/float64(t)-1/float64(Reference)))), nil
}

// Composition is a fuel C_a H_b O_c.
type Composition struct{ Carbon, Hydrogen, Oxygen float64 }

// ParseComposition reads a formula such as C2H6O, C8H18 or CH1.87.
func ParseComposition(formula string) (Composition, error) {
	m := formulaShape.FindStringSubmatch(formula)
	if m == nil {
		return Composition{}, fmt.Errorf("formula %q: not of the form C8H18 or C2H6O1", formula)
	}
	var n [3]float64
	for i := range n {
		count := strings.TrimPrefix(m[i+1], "O")
		switch {
		case i == 2 && m[i+1] == "":
			continue
		case count == "":
			count = "1"
		}
		v, err := strconv.ParseFloat(count, 64)
		if err != nil {
			return Composition{}, fmt.Errorf("formula %q: %q is not a count", formula, count)
		}
		n[i] = v
	}
	return Composition{n[0], n[1], n[2]}, nil
}

// MolarMass in g/mol.
func (c Composition) MolarMass() float64 {
	return c.Carbon*carbonMass + c.Hydrogen*hydrogenMass + c.Oxygen*oxygenMass
}

// Stoichiometric air-fuel ratio by mass: (a + b/4 - c/2) (M_air/x_O2)/M_fuel,
// complete combustion in dry air. Source: Heywood (1988) eq. 3.6.
func (c Composition) Stoichiometric() (AirFuelRatio, error) {
	oxygen := c.Carbon + c.Hydrogen/4 - c.Oxygen/2
	if c.MolarMass() <= 0 || oxygen <= 0 {
		return 0, fmt.Errorf("composition C%gH%gO%g: does not burn", c.Carbon, c.Hydrogen, c.Oxygen)
	}
	return AirFuelRatio(oxygen * airMass / airOxygen / c.MolarMass()), nil
}

// LowerHeatingValue of the liquid at 25 degC from its heat of formation in
// J/mol: products CO2 (-393.51 kJ/mol) and water vapour (-285.83 + 44.01).
// Source: definition, with heats of formation of ATcT 1.112.
func (c Composition) LowerHeatingValue(formation float64) quantity.SpecificEnergy {
	const carbonDioxide, waterVapour = -393510.0, -285830.0 + 44010.0
	released := formation - c.Carbon*carbonDioxide - c.Hydrogen/2*waterVapour
	return quantity.SpecificEnergy(released / (c.MolarMass() * quantity.Gram))
}

// ExpansionCoefficient of the gasoline group at 15 degC, per kelvin:
// alpha = K0/rho^2 + K1/rho with K0 346.4228, K1 0.4388 and rho at 15 degC.
// Range 653 to 770 kg/m3. Source: ASTM D1250-80 / API MPMS 11.1 (1980) Table
// 54B. The coefficients per degree Fahrenheit (192.4571, 0.2438) are a second
// family, 1.8 times smaller; the two are never mixed.
func ExpansionCoefficient(at15 quantity.Density) (float64, error) {
	if err := within("gasoline density at 15 degC", at15, 653, 770); err != nil {
		return 0, err
	}
	return expansion(float64(at15)), nil
}

// VolumeCorrection is the volume at 15 degC over the volume at t for gasoline:
// VCF = exp(-a dt (1 + 0.8 a dt)), dt = t - 15 degC. Density at t is the density
// at 15 degC times it. Range 653 to 770 kg/m3, -50 to 95 degC.
// Source: ASTM D1250-80 Table 54B.
func VolumeCorrection(at15 quantity.Density, t quantity.Temperature) (quantity.Fraction, error) {
	a, err := ExpansionCoefficient(at15)
	if err != nil {
		return 0, err
	}
	if err := within("gasoline temperature", t, celsius(-50), celsius(95)); err != nil {
		return 0, err
	}
	return quantity.Fraction(correction(a, float64(t)-288.15)), nil
}

// VolumeCorrection60F is the 2004 procedure to base 60 degF, which shifts the
// base to the 1968 temperature scale by half of 0.01374979547 degF and the
// temperature by Table 5 of the procedure. Range 610.6 to 770.352 kg/m3 at 60
// degF, -58 to 302 degF. Source: API MPMS 11.1-2004 (ASTM D1250-04) 11.1.5.3 and 11.1.6.1;
// the order of the steps is from memory.
func VolumeCorrection60F(at60F quantity.Density, t quantity.Temperature) (quantity.Fraction, error) {
	if err := within("gasoline density at 60 degF", at60F, 610.6, 770.352); err != nil {
		return 0, err
	}
	if err := within("gasoline temperature", t, fahrenheit(-58), fahrenheit(302)); err != nil {
		return 0, err
	}
	const k0, k1, shift = 192.4571, 0.2438, 0.01374979547
	rho := float64(at60F)
	a := shift / 2 * (k0/rho + k1) / rho
	b := (2*k0 + k1*rho) / (k0 + k1*rho)
	star := rho * (1 + (math.Exp(a*(1+0.8*a))-1)/(1+a*(1+1.6*a)*b))
	alpha := (k0/star + k1) / star
	dt := scale1968(float64(t)-273.15)*1.8 + 32 - 60.0068749
	return quantity.Fraction(math.Exp(-alpha * dt * (1 + 0.8*alpha*(dt+shift)))), nil
}

func fahrenheit(t float64) quantity.Temperature { return celsius((t - 32) / 1.8) }

// scale1968 turns degC of ITS-90 into degC of IPTS-68.
// Source: API MPMS 11.1-2004, 11.1.5.3 (coefficients read).
func scale1968(t90 float64) float64 {
	coefficients := [...]float64{-0.148759, -0.267408, 1.080760, 1.269056, -4.089591, -1.871251, 7.438081, -3.536296}
	tau, sum := t90/630, 0.0
	for i := len(coefficients) - 1; i >= 0; i-- {
		sum = (sum + coefficients[i]) * tau
	}
	return t90 - sum
}

// EthanolDensity of an ethanol-water mixture with mass fraction p of ethanol.
//
// rho = sum A_k p^k + sum B_k (t-20)^k + sum C_ik p^k (t-20)^i, t in degC,
// kg/m3. Range -20 to 40 degC. Source: OIML R 22 (1975), Table I.
func EthanolDensity(p quantity.Fraction, t quantity.Temperature) (quantity.Density, error) {
	if err := within("ethanol mass fraction", p, 0, 1); err != nil {
		return 0, err
	}
	if err := within("ethanol temperature", t, celsius(-20), celsius(40)); err != nil {
		return 0, err
	}
	x, dt := float64(p), float64(t)-293.15
	rho := polynomial(oimlA, x) + dt*polynomial(oimlB, dt)
	for i, row := range oimlC {
		rho += math.Pow(dt, float64(i+1)) * x * polynomial(row, x)
	}
	return quantity.Density(rho), nil
}

// polynomial is c0 + c1 x + c2 x^2 ...
func polynomial(c []float64, x float64) float64 {
	sum := 0.0
	for i := len(c) - 1; i >= 0; i-- {
		sum = sum*x + c[i]
	}
	return sum
}

// MassRatio is the fuel mass one blend needs over another, by energy.
func MassRatio(of, over Blend) quantity.Fraction {
	return quantity.Fraction(over.HeatingValue / of.HeatingValue)
}

// VolumeRatio is the fuel volume one blend needs over another, by energy.
func VolumeRatio(of, over Blend) quantity.Fraction {
	return quantity.Fraction(over.HeatingValueByVolume() / of.HeatingValueByVolume())
}

// AirMassRatio is the fuel mass one blend needs over another, by equal air.
func AirMassRatio(of, over Blend) quantity.Fraction {
	return quantity.Fraction(over.Stoichiometric / of.Stoichiometric)
}

// DistanceLost per volume of a blend against another.
func DistanceLost(of, over Blend) quantity.Fraction {
	return 1 - quantity.Fraction(of.HeatingValueByVolume()/over.HeatingValueByVolume())
}

// HeatPerAir is the heat a kilogram of air burns at lambda 1: LHV/AFR. Nearly
// the same for all blends.
func HeatPerAir(b Blend) quantity.SpecificEnergy {
	return b.HeatingValue / quantity.SpecificEnergy(b.Stoichiometric)
}

// Pressure of the vapour at temperature.
func (a Antoine) Pressure(t quantity.Temperature) (quantity.Absolute, error) {
	if err := within("ethanol temperature", t, a.Low, a.High); err != nil {
		return 0, err
	}
	return quantity.Absolute(math.Pow(10, a.A-a.B/(float64(t)+a.C))), nil
}
