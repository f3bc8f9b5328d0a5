package fuel

import "feedproof/schema/quantity"

// At equal power, lambda and efficiency an engine needs the same energy of any
// blend: mass goes with 1/LHV, volume with 1/(LHV rho). With ethanol both rise.
// By equal air, mass goes with 1/AFR instead; the two differ by under 1 %. Use
// the energy of a consumption and the air of an air flow, never both in one chain.

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
