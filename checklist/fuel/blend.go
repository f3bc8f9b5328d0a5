package fuel

import (
	"math"

	"feedproof/schema/quantity"
)

// AirFuelRatio is kg of air per kg of fuel.
type AirFuelRatio float64

// HeatCapacity is in J/(kg K).
type HeatCapacity float64

// Constituent is one part of a blend, stated at [Reference] temperature.
type Constituent struct {
	Name           string
	Density        quantity.Density
	Stoichiometric AirFuelRatio
	HeatingValue   quantity.SpecificEnergy // lower
	Viscosity      quantity.Viscosity
	HeatCapacity   HeatCapacity
}

// Planning constituents. Common practice; gasoline without ethanol spans
// 720 to 775 kg/m3 (EN 228, from memory) and 14.4 to 14.8 kg/kg.
var (
	Gasoline = Constituent{"gasoline", 745, 14.7, 43.4e6, 0.6e-6, 2100}
	Ethanol  = Constituent{"ethanol", 789, 9.0, 26.8e6, 1.5e-6, 2510}
	Methanol = Constituent{"methanol", 791, 6.46, 20.0e6, 0.74e-6, 2530}
)

// TestFluidDensity is n-heptane, the usual injector test fluid (SAE J1832
// style tests, from memory).
const TestFluidDensity quantity.Density = 684

// Blend is a mixture of a base and an alcohol by volume.
type Blend struct {
	Alcohol        quantity.Fraction // by volume
	AlcoholByMass  quantity.Fraction
	Density        quantity.Density
	Stoichiometric AirFuelRatio
	HeatingValue   quantity.SpecificEnergy
	Viscosity      quantity.Viscosity
	HeatCapacity   HeatCapacity
}

// HeatingValueByVolume is the lower heating value per volume, J/m3.
func (b Blend) HeatingValueByVolume() float64 {
	return float64(b.HeatingValue) * float64(b.Density)
}

// Mix blends volume fraction x of alcohol into base. Ideal volumes:
// w = x rho_a / (x rho_a + (1-x) rho_b); density by volume; air ratio, heating
// value and heat capacity by mass, which is exact; ln viscosity by volume
// (Arrhenius mixing, from memory). Contraction on mixing, under 1 %, is left
// out. Vapour pressure is deliberately not here: it does not mix linearly, and
// a little ethanol raises it above both parts.
func Mix(base, alcohol Constituent, x quantity.Fraction) (Blend, error) {
	if err := within(alcohol.Name+" content", x, 0, 1); err != nil {
		return Blend{}, err
	}
	e := float64(x)
	rho := e*float64(alcohol.Density) + (1-e)*float64(base.Density)
	w := e * float64(alcohol.Density) / rho
	byMass := func(a, b float64) float64 { return w*a + (1-w)*b }
	lnNu := e*math.Log(float64(alcohol.Viscosity)) + (1-e)*math.Log(float64(base.Viscosity))
	return Blend{
		Alcohol:        x,
		AlcoholByMass:  quantity.Fraction(w),
		Density:        quantity.Density(rho),
		Stoichiometric: AirFuelRatio(byMass(float64(alcohol.Stoichiometric), float64(base.Stoichiometric))),
		HeatingValue:   quantity.SpecificEnergy(byMass(float64(alcohol.HeatingValue), float64(base.HeatingValue))),
		Viscosity:      quantity.Viscosity(math.Exp(lnNu)),
		HeatCapacity:   HeatCapacity(byMass(float64(alcohol.HeatCapacity), float64(base.HeatCapacity))),
	}, nil
}

// EthanolBlend is gasoline with volume fraction x of ethanol at [Reference].
func EthanolBlend(x quantity.Fraction) (Blend, error) { return Mix(Gasoline, Ethanol, x) }

// At is the blend warmed or cooled to t: density from the gasoline group's
// volume correction and ethanol's correlation, viscosity likewise. The volume
// fraction stays the one at [Reference]. Range -40 to 90 degC.
func (b Blend) At(t quantity.Temperature) (Blend, error) {
	if err := within("fuel temperature", t, celsius(-40), celsius(90)); err != nil {
		return Blend{}, err
	}
	ethanol := liquids[0]
	x, k := float64(b.Alcohol), float64(t)
	alpha := expansion(float64(Gasoline.Density))
	gasoline := correction(alpha, k-288.15) / correction(alpha, float64(Reference)-288.15)
	alcohol := ethanol.rho(k) / ethanol.rho(float64(Reference))
	lnRatio := x*math.Log(ethanol.nu(k)/ethanol.nu(float64(Reference))) + (1-x)*gasolineThinning*(1/k-1/float64(Reference))
	out := b
	out.Density = quantity.Density(float64(b.Density) / (x/alcohol + (1-x)/gasoline))
	out.Viscosity = quantity.Viscosity(float64(b.Viscosity) * math.Exp(lnRatio))
	return out, nil
}

// gasolineThinning is B of ln nu = A + B/T through 0.6 mm2/s at 20 degC and 1.0
// at -20 degC, the thick ends of the two ranges of the US DOE fuel properties table.
const gasolineThinning = 947.7

// LambdaShift is the lambda a fixed tune runs at when mapped on one blend and
// filled with another: equal injected volume, so (rho_m AFR_m)/(rho_f AFR_f).
func LambdaShift(mapped, filled Blend) quantity.Lambda {
	need := func(b Blend) float64 { return float64(b.Density) * float64(b.Stoichiometric) }
	return quantity.Lambda(need(mapped) / need(filled))
}
