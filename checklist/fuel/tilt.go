package fuel

import (
	"fmt"
	"math"

	"feedproof/schema/quantity"
)

// Tilt is a free surface in a car's axes: its rise per length forward and per
// length to the left. Fuel runs against an acceleration, and downhill.
type Tilt struct{ Forward, Left float64 }

// TiltUnder is the surface under a steady acceleration forward and to the left,
// on a road of a grade (a tangent, uphill positive):
// -(a_x + sin)/cos and -a_y/cos. An acceleration read by an instrument on the
// car feels grade and roll already: give grade 0 with it. Quasi-static: no
// waves. Source: rigid-body motion of a liquid (Cengel & Cimbala, Fluid Mechanics, ch. 3).
func TiltUnder(forward, left quantity.Acceleration, grade float64) Tilt {
	road := math.Atan(grade)
	return Tilt{-(float64(forward)/quantity.G + math.Sin(road)) / math.Cos(road), -float64(left) / quantity.G / math.Cos(road)}
}

// SteeperBy is the tilt with both slopes scaled: a corner that builds up faster
// than half a slosh period overshoots.
func (t Tilt) SteeperBy(share float64) Tilt { return Tilt{t.Forward * share, t.Left * share} }

// Box is the inside of a rectangular tank: forward, across and up.
type Box struct{ Length, Width, Height quantity.Length }

// Volume of the whole box.
func (b Box) Volume() quantity.Volume {
	return quantity.Volume(float64(b.Length) * float64(b.Width) * float64(b.Height))
}

func (b Box) validate() error {
	return first(positive("tank length", b.Length), positive("tank width", b.Width), positive("tank height", b.Height))
}

// Below is the volume under a tilted surface that stands c over the floor at
// the rear right corner, roof and floor cutting it off: exact, by integration
// of max(0, c + s_x x + s_y y) and of the same less the height.
func (b Box) Below(c quantity.Length, t Tilt) quantity.Volume {
	return quantity.Volume(b.wedge(float64(c), t) - b.wedge(float64(c-b.Height), t))
}

// flatSlope is the share of the depth under which a slope counts as none: below
// it the closed form loses digits, and the dropped term is smaller than that.
const flatSlope = 1e-4

func (b Box) wedge(c float64, t Tilt) float64 {
	l, w := float64(b.Length), float64(b.Width)
	x, y := t.Forward*l, t.Left*w // rise over the whole box
	scale := max(math.Abs(c), math.Abs(x), math.Abs(y))
	slopesX, slopesY := math.Abs(x) > flatSlope*scale, math.Abs(y) > flatSlope*scale
	switch {
	case slopesX && slopesY:
		return l * w * (cubed(c+x+y) - cubed(c+x) - cubed(c+y) + cubed(c)) / (6 * x * y)
	case slopesX:
		return l * w * (squared(c+x+y/2) - squared(c+y/2)) / (2 * x)
	case slopesY:
		return l * w * (squared(c+y+x/2) - squared(c+x/2)) / (2 * y)
	}
	return l * w * max(0, c+x/2+y/2)
}

func squared(v float64) float64 { v = max(0, v); return v * v }
func cubed(v float64) float64   { v = max(0, v); return v * v * v }

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

// PickUp is where fuel is drawn: from the rear wall, from the right wall, and
// how high over the floor its inlet stands.
type PickUp struct{ Forward, Left, Inlet quantity.Length }

// Depth of fuel at a place of the floor, for a volume in the box.
func (b Box) Depth(v quantity.Volume, t Tilt, at PickUp) (quantity.Length, error) {
	c, err := b.Surface(v, t)
	if err != nil {
		return 0, err
	}
	return min(b.Height, max(0, c+rise(t, at))), nil
}

func rise(t Tilt, at PickUp) quantity.Length {
	return quantity.Length(t.Forward)*at.Forward + quantity.Length(t.Left)*at.Left
}

// Covering is the least volume that keeps the pick-up's inlet in fuel.
func (b Box) Covering(t Tilt, at PickUp) quantity.Volume { return b.Below(at.Inlet-rise(t, at), t) }

func (p PickUp) validate(b Box) error {
	return first(within("pick-up from the rear wall", p.Forward, 0, b.Length), within("pick-up from the right wall", p.Left, 0, b.Width),
		within("pick-up inlet over the floor", p.Inlet, 0, b.Height))
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
