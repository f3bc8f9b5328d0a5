package fuel

import (
	"feedproof/schema/quantity"
)

// HeatLoss is the heat a part takes from its surroundings per kelvin of
// difference, W/K. Engineering estimates, from memory: a bare 2 L can in a warm
// bay 1 to 3, rail and hoses 1 to 4, a 60 L tank in the air stream 3 to 10.
type HeatLoss float64

// Stirred is two perfectly stirred tanks that exchange fuel at constant flows,
// with volumes that are straight lines in time. Each follows
// V dT/dt = Own T + Other T_other + Gain, where Own and Other are flows and Gain
// is a flow times a temperature. One tank alone has Other 0. The same balance
// carries a concentration instead of a temperature.
type Stirred struct {
	Volume [2]quantity.Volume
	Rate   [2]quantity.Flow // what each volume gains
	Own    [2]quantity.Flow // below zero: what leaves with its own temperature
	Other  [2]quantity.Flow // what comes from the other
	Gain   [2]float64       // m3/s times K
	Least  quantity.Volume  // stands in for a nearly empty tank, whose rate would grow without bound
}

func (s Stirred) step(t [2]float64, at, h float64) [2]float64 {
	k1 := s.slope(t, at)
	k2 := s.slope(along(t, k1, h/2), at+h/2)
	k3 := s.slope(along(t, k2, h/2), at+h/2)
	k4 := s.slope(along(t, k3, h), at+h)
	for i := range t {
		t[i] += h / 6 * (k1[i] + 2*k2[i] + 2*k3[i] + k4[i])
	}
	return t
}

func along(t, slope [2]float64, h float64) [2]float64 {
	return [2]float64{t[0] + h*slope[0], t[1] + h*slope[1]}
}

func (s Stirred) slope(t [2]float64, at float64) [2]float64 {
	var d [2]float64
	for i := range d {
		v := max(float64(s.Least), float64(s.Volume[i])+float64(s.Rate[i])*at)
		d[i] = (float64(s.Own[i])*t[i] + float64(s.Other[i])*t[1-i] + s.Gain[i]) / v
	}
	return d
}

// volumeHeat is rho c, J/(m3 K).
func (b Blend) volumeHeat() float64 { return float64(b.Density) * float64(b.HeatCapacity) }

// FullLoadTime is how long a full tank lasts at full load with the lift pump
// running; false when the pump brings all that leaves.
func FullLoadTime(v quantity.Volume, leaving, lift quantity.Flow) (quantity.Duration, bool) {
	if lift >= leaving {
		return 0, false
	}
	return ReservoirEndurance(v, leaving-lift), true
}
