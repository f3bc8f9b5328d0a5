package fuel

import (
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

// PickUp is where fuel is drawn: from the rear wall, from the right wall, and
// how high over the floor its inlet stands.
type PickUp struct{ Forward, Left, Inlet quantity.Length }

func rise(t Tilt, at PickUp) quantity.Length {
	return quantity.Length(t.Forward)*at.Forward + quantity.Length(t.Left)*at.Left
}

// Covering is the least volume that keeps the pick-up's inlet in fuel.
func (b Box) Covering(t Tilt, at PickUp) quantity.Volume { return b.Below(at.Inlet-rise(t, at), t) }

func (p PickUp) validate(b Box) error {
	return first(within("pick-up from the rear wall", p.Forward, 0, b.Length), within("pick-up from the right wall", p.Left, 0, b.Width),
		within("pick-up inlet over the floor", p.Inlet, 0, b.Height))
}
