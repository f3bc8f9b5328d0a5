package fuel

import "feedproof/schema/quantity"

// LiquidLost is the volume that leaves a rigid line for a fall of pressure:
// V dp/K, K the fuel's bulk modulus in Pa.
func LiquidLost(v quantity.Volume, fall quantity.Difference, bulk float64) quantity.Volume {
	return v * quantity.Volume(float64(fall)/bulk)
}

// AirLeak is the leak rate of a volume of air that loses pressure over a time,
// Pa m3/s: V dp/dt. Ideal gas at constant temperature.
func AirLeak(v quantity.Volume, fall quantity.Difference, over quantity.Duration) float64 {
	return float64(v) * float64(fall) / float64(over)
}

// PressurePerKelvin is what shut-in air gains by each kelvin: p/T, Pa/K.
func PressurePerKelvin(p quantity.Absolute, t quantity.Temperature) float64 {
	return float64(p) / float64(t)
}
