package fuel

import (
	"fmt"
	"math"

	"feedproof/schema/quantity"
)

// SmoothHose is the absolute roughness of plastic and smooth rubber hose.
// Source: EPANET 2.2 manual, roughness table (0.005e-3 ft).
const SmoothHose quantity.Length = 0.0015e-3

// Line is a hose or tube with its fittings and what is mounted in it.
type Line struct {
	Name      string
	Bore      quantity.Length // inside diameter, of the smallest size in the run
	Length    quantity.Length
	Roughness quantity.Length // zero: [SmoothHose]
	K         float64         // sum of minor-loss coefficients, of V^2/2
	Drops     []Drop
	Rise      quantity.Length // of the far end above the near one
	Forward   quantity.Length // of the far end ahead of the near one
	Rating    quantity.Gauge  // working pressure; zero unknown
	Friction  Friction        // nil: [Churchill]
}

// Drop is a part whose pressure difference grows with the square of flow,
// such as a filter or a check valve, by one measured point.
type Drop struct {
	Name       string
	Flow       quantity.Flow
	Difference quantity.Difference
}

// Loss at flow q: dp (q/q0)^2.
func (d Drop) Loss(q quantity.Flow) quantity.Difference {
	x := quantity.Difference(q / d.Flow)
	return d.Difference * x * x
}

// validate names the line by its own name, or by what it serves as.
func (l Line) validate(as string) error {
	if l.Name != "" {
		as = l.Name
	}
	err := first(within("bore", l.Bore, 1e-3, 0.1), within("length", l.Length, 0, 100), within("roughness", l.Roughness, 0, 0.01),
		notNegative("rating", l.Rating))
	if err != nil {
		return fmt.Errorf("%s %w", as, err)
	}
	if !(l.K >= 0 && l.K <= 1000) {
		return fmt.Errorf("%s: minor-loss coefficient %g is outside 0 to 1000", as, l.K)
	}
	for _, d := range l.Drops {
		if err := first(positive("flow", d.Flow), notNegative("drop", d.Difference)); err != nil {
			return fmt.Errorf("%s, %s %w", as, d.Name, err)
		}
	}
	return nil
}

// Velocity is Q/A.
func Velocity(q quantity.Flow, bore quantity.Length) quantity.Speed {
	return quantity.Speed(float64(q) / (math.Pi / 4 * float64(bore) * float64(bore)))
}

// Reynolds number V D/nu.
func Reynolds(v quantity.Speed, bore quantity.Length, nu quantity.Viscosity) float64 {
	return float64(v) * float64(bore) / float64(nu)
}

// LineLoss is a line's pressure difference, taken apart.
type LineLoss struct {
	Velocity quantity.Speed
	Reynolds float64
	Factor   float64             // Darcy friction factor
	Friction quantity.Difference // of the straight length
	Minor    quantity.Difference // of the fittings
	Parts    quantity.Difference // of filters, check valves
	Height   quantity.Difference // of the rise
	Total    quantity.Difference
}

// Gradient of the straight length, Pa/m.
func (l LineLoss) Gradient(length quantity.Length) float64 {
	return float64(l.Friction) / float64(length)
}

// Loss of a line at a flow: (f L/D + sum K) rho V^2/2 + parts + rho g rise.
// Source: Darcy-Weisbach.
func (l Line) Loss(q quantity.Flow, fuel Blend) LineLoss {
	v := Velocity(q, l.Bore)
	out := LineLoss{Velocity: v, Reynolds: Reynolds(v, l.Bore, fuel.Viscosity)}
	head := float64(fuel.Density) * float64(v) * float64(v) / 2
	if out.Reynolds > 0 {
		out.Factor = l.law()(out.Reynolds, l.roughness()/float64(l.Bore))
	}
	out.Friction = quantity.Difference(out.Factor * float64(l.Length) / float64(l.Bore) * head)
	out.Minor = quantity.Difference(l.K * head)
	for _, d := range l.Drops {
		out.Parts += d.Loss(q)
	}
	out.Height = quantity.Difference(float64(fuel.Density) * quantity.G * float64(l.Rise))
	out.Total = out.Friction + out.Minor + out.Parts + out.Height
	return out
}

func (l Line) law() Friction {
	if l.Friction == nil {
		return Churchill
	}
	return l.Friction
}

func (l Line) roughness() float64 {
	if l.Roughness == 0 {
		return float64(SmoothHose)
	}
	return float64(l.Roughness)
}

// AccelerationHead is rho a x: what a column of fuel x long, ahead of the
// pump, takes while the car accelerates.
func AccelerationHead(rho quantity.Density, a quantity.Acceleration, ahead quantity.Length) quantity.Difference {
	return quantity.Difference(float64(rho) * float64(a) * float64(ahead))
}
