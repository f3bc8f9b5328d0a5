package fuel

import (
	"fmt"
	"math"

	"feedproof/schema/quantity"
)

// Here: levels, slosh and mixing in a tank by their closed forms. The published rows hold
// them, and through them what the program computes; no program calls them.

// SurfaceAngle is the angle of [SurfaceSlope].
func SurfaceAngle(along, up quantity.Acceleration) quantity.Angle {
	return quantity.Angle(math.Atan(SurfaceSlope(along, up)))
}

// FillWithoutSpill is the depth an open tank may be filled to: the surface
// rises by slope L/2 at the wall. Source: Cengel & Cimbala, Fluid Mechanics.
func FillWithoutSpill(length, height quantity.Length, slope float64) quantity.Length {
	return height - length*quantity.Length(slope/2)
}

// After is both temperatures after a time, by Runge and Kutta's classical
// method in equal steps of at most the step given.
func (s Stirred) After(t [2]float64, over, step quantity.Duration) [2]float64 {
	n := max(1, math.Ceil(float64(over/step)-1e-9))
	h := float64(over) / n
	for i := range int(n) {
		t = s.step(t, float64(i)*h, h)
	}
	return t
}

// ReturnTemperature of fuel that takes up the pump's power and then runs
// through rail and hoses in a bay: bay + (T + P/(rho c q) - bay) exp(-UA/(rho c q)).
// All of volts times amperes counts as heat. Source: a single stream along
// constant surroundings.
func ReturnTemperature(in, bay quantity.Temperature, p quantity.Power, loss HeatLoss, q quantity.Flow, fuel Blend) quantity.Temperature {
	if q <= 0 {
		return bay
	}
	w := fuel.volumeHeat() * float64(q)
	left := math.Exp(-float64(loss) / w)
	return bay + quantity.Temperature((float64(in-bay)+float64(p)/w)*left)
}

// VapourMargin is the pressure over the fuel less its vapour pressure. For E0 to
// E10, as [VapourPressure].
func VapourMargin(over, rvp quantity.Absolute, t quantity.Temperature) (quantity.Difference, error) {
	p, err := VapourPressure(rvp, t)
	return quantity.Difference(over - p), err
}

// Recovery is how long a tank takes to get back what left it in a dry spell,
// from what the lift pump brings over what leaves; false when it brings no more.
func Recovery(dry quantity.Duration, leaving, lift quantity.Flow) (quantity.Duration, bool) {
	if lift <= leaving {
		return 0, false
	}
	return dry * quantity.Duration(leaving/(lift-leaving)), true
}

// HangerCut is the length of hanger below the flange: depth + gasket less clearance.
func (m Module) HangerCut() (quantity.Length, error) {
	err := first(positive("tank depth", m.Depth), notNegative("gasket", m.Gasket), notNegative("clearance", m.Clearance))
	if err != nil {
		return 0, err
	}
	cut := m.Depth + m.Gasket - m.Clearance
	if m.Baffle > m.Depth {
		return 0, fmt.Errorf("module: a baffle of %s does not fit a tank %s deep", quantity.Text(m.Baffle), quantity.Text(m.Depth))
	}
	return cut, positive("hanger length", cut)
}

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

// Surface is the height of the tilted surface of a volume over the rear right
// corner; it may lie below the floor or above the roof there.
func (b Box) Surface(v quantity.Volume, t Tilt) (quantity.Length, error) {
	if err := first(b.validate(), within("fuel in the tank", v, 0, b.Volume())); err != nil {
		return 0, err
	}
	low := min(0, -t.Forward*float64(b.Length)) + min(0, -t.Left*float64(b.Width))
	high := float64(b.Height) + max(0, -t.Forward*float64(b.Length)) + max(0, -t.Left*float64(b.Width))
	for range 80 {
		if middle := (low + high) / 2; b.Below(quantity.Length(middle), t) < v {
			low = middle
		} else {
			high = middle
		}
	}
	return quantity.Length((low + high) / 2), nil
}

// Depth of fuel at a place of the floor, for a volume in the box.
func (b Box) Depth(v quantity.Volume, t Tilt, at PickUp) (quantity.Length, error) {
	c, err := b.Surface(v, t)
	if err != nil {
		return 0, err
	}
	return min(b.Height, max(0, c+rise(t, at))), nil
}

// SloshPeriod is of the first wave across a width at a depth:
// 2 pi/sqrt(g k tanh(k d)), k = pi/B. A corner that builds up in less than half
// of it overshoots the quasi-static surface, undamped to twice the slope.
// Source: linear wave theory (Lamb, Hydrodynamics; from memory).
func SloshPeriod(width, depth quantity.Length) (quantity.Duration, error) {
	if err := first(positive("tank width", width), positive("fuel depth", depth)); err != nil {
		return 0, err
	}
	k := math.Pi / float64(width)
	return quantity.Duration(2 * math.Pi / math.Sqrt(quantity.G*k*math.Tanh(k*float64(depth)))), nil
}

// PotKeeps is what an open square pot of a side and height keeps at a steady
// tilt: s^2 (h - t s/2) while t s <= h, else s h^2/(2t). Wedge geometry.
func PotKeeps(side, height quantity.Length, slope float64) (quantity.Volume, error) {
	if err := first(positive("pot side", side), positive("pot height", height)); err != nil {
		return 0, err
	}
	if !(slope >= 0) {
		return 0, fmt.Errorf("pot: slope %g is negative", slope)
	}
	s, h := float64(side), float64(height)
	if slope*s <= h {
		return quantity.Volume(s * s * (h - slope*s/2)), nil
	}
	return quantity.Volume(s * h * h / (2 * slope)), nil
}

// PotHold is how long a pot feeds the lift pump with no fuel running in.
func PotHold(pot, unpumpable quantity.Volume, lift quantity.Flow) (quantity.Duration, error) {
	err := first(positive("lift flow", lift), within("what stays in the pot", unpumpable, 0, pot))
	return ReservoirEndurance(pot-unpumpable, lift), err
}
