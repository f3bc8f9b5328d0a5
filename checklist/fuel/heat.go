package fuel

import "feedproof/schema/quantity"

// HeatingRate is the rise of a fuel volume in kelvin per second when a power
// ends in it: P/(rho V c). Everything electrical ends as heat in the fuel of a
// return system; losses to the air are left out.
func HeatingRate(p quantity.Power, v quantity.Volume, fuel Blend) float64 {
	return float64(p) / (float64(fuel.Density) * float64(v) * float64(fuel.HeatCapacity))
}

// Warming is the temperature rise over a time; see [HeatingRate].
func Warming(p quantity.Power, v quantity.Volume, fuel Blend, over quantity.Duration) quantity.TemperatureDifference {
	return quantity.TemperatureDifference(HeatingRate(p, v, fuel) * float64(over))
}
