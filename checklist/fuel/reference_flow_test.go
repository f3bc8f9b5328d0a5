package fuel

import (
	"fmt"
	"maps"
	"math"
	"slices"
	"sort"
	"strings"

	"feedproof/schema/quantity"
)

// Here: pressure loss, orifices, pumps and wires by their textbook formulas. The published rows hold
// them, and through them what the program computes; no program calls them.

// SeatForce in newton is what a float must hold against: p A.
func SeatForce(diameter quantity.Length, p quantity.Gauge) float64 {
	return math.Pi / 4 * float64(diameter) * float64(diameter) * float64(p)
}

// HoseBore is the inside diameter of a dash size. A dash number is the tube's
// outside diameter in sixteenths of an inch, not the bore; the bore depends on
// the specification.
func HoseBore(spec HoseSpecification, dash int) (quantity.Length, error) {
	table, ok := boreSixtyFourths[spec]
	if !ok {
		return 0, fmt.Errorf("hose specification %q: no bores known; known are %v", spec, slices.Sorted(maps.Keys(boreSixtyFourths)))
	}
	sixtyFourths, ok := table[dash]
	if !ok {
		return 0, fmt.Errorf("hose -%d: not a size of %s, which has %v", dash, spec, slices.Sorted(maps.Keys(table)))
	}
	return quantity.Length(sixtyFourths / 64 * quantity.Inch), nil
}

// MinorLoss is K of a fitting by its name in the table, fully open.
func MinorLoss(fitting string) (float64, error) {
	k, ok := minorLoss[strings.ToLower(fitting)]
	if !ok {
		var names []string
		for n := range minorLoss {
			names = append(names, n)
		}
		sort.Strings(names)
		return 0, fmt.Errorf("fitting %q: no coefficient known; known are %s", fitting, strings.Join(names, ", "))
	}
	return k, nil
}

// SuddenExpansion is K of a step from d1 to d2 on the upstream velocity:
// (1-(d1/d2)^2)^2. Source: Borda-Carnot.
func SuddenExpansion(d1, d2 quantity.Length) float64 {
	x := 1 - float64(d1*d1/(d2*d2))
	return x * x
}

// Laminar is f = 64/Re (Hagen-Poiseuille), Re below 2000 to 2300.
func Laminar(re, _ float64) float64 { return 64 / re }

// Blasius is f = 0.316/Re^0.25 for smooth pipe. Re 4000 to 1e5.
func Blasius(re, _ float64) float64 { return 0.316 / math.Sqrt(math.Sqrt(re)) }

// Moody is Colebrook above Reynolds 2040 and laminar below, with the step a
// real pipe has somewhere there.
func Moody(re, roughness float64) float64 {
	if re < 2040 {
		return Laminar(re, roughness)
	}
	return Colebrook(re, roughness)
}

// OrificeFlow scales a volume flow with pressure difference and density:
// Q = Q0 sqrt(dp/dp0) sqrt(rho0/rho). Valid for turbulent, non-cavitating
// metering with constant discharge coefficient. Source: orifice equation.
func OrificeFlow(q quantity.Flow, rated, actual quantity.Difference, test, fuel quantity.Density) quantity.Flow {
	return quantity.Flow(float64(q) * math.Sqrt(float64(actual)/float64(rated)) * math.Sqrt(float64(test)/float64(fuel)))
}

// LoggedDuty is the duty of a logged pulse width: n PW/T, in percent PW[ms] rpm/1200
// when sequential.
func LoggedDuty(pulse quantity.Duration, speed quantity.EngineSpeed, eventsPerCycle int) quantity.Fraction {
	return CommandedDuty(0, pulse, speed, eventsPerCycle)
}

// Area of the bore.
func (l Line) Area() quantity.Area {
	return quantity.Area(math.Pi / 4 * float64(l.Bore) * float64(l.Bore))
}

// Volume held.
func (l Line) Volume() quantity.Volume { return quantity.Volume(float64(l.Area()) * float64(l.Length)) }

// BlendDelay is how long a changed blend takes through a volume at a flow.
func BlendDelay(v quantity.Volume, q quantity.Flow) quantity.Duration {
	return quantity.Duration(float64(v) / float64(q))
}

// PureLiquid finds a liquid by name: ethanol, methanol, n-heptane, isooctane.
func PureLiquid(name string) (Liquid, error) {
	var known []string
	for _, l := range liquids {
		if l.Name == name {
			return l, nil
		}
		known = append(known, l.Name)
	}
	return Liquid{}, fmt.Errorf("liquid %q: not known; known are %s", name, strings.Join(known, ", "))
}

// Density at temperature, within the range of the correlations.
func (l Liquid) Density(t quantity.Temperature) (quantity.Density, error) {
	if err := within(l.Name+" temperature", t, l.low, l.high); err != nil {
		return 0, err
	}
	return quantity.Density(l.rho(float64(t))), nil
}

// Viscosity is kinematic, at temperature, within the range of the correlations.
func (l Liquid) Viscosity(t quantity.Temperature) (quantity.Viscosity, error) {
	if err := within(l.Name+" temperature", t, l.low, l.high); err != nil {
		return 0, err
	}
	return quantity.Viscosity(l.nu(float64(t))), nil
}

// Affinity scales flow, pressure and power of a pump with its speed: w, w^2, w^3.
// Incompressible, same pump, high Reynolds number. Source: DOE-HDBK-1012/3-92.
func Affinity(w quantity.Fraction, q quantity.Flow, p quantity.Difference, power quantity.Power) (quantity.Flow, quantity.Difference, quantity.Power) {
	x := float64(w)
	return quantity.Flow(x) * q, quantity.Difference(x*x) * p, quantity.Power(x*x*x) * power
}

// PowerCurve is h = h0 - r q^n, in whatever units the points had.
type PowerCurve struct{ H0, R, N float64 }

// FitPowerCurve runs h = h0 - r q^n through (0,h0), (q1,h1), (q2,h2):
// n = ln((h0-h2)/(h0-h1))/ln(q2/q1). Source: EPANET 2.2 manual, pump curve.
func FitPowerCurve(h0, q1, h1, q2, h2 float64) (PowerCurve, error) {
	if !(q1 > 0 && q2 > q1 && h0 > h1 && h1 > h2) {
		return PowerCurve{}, fmt.Errorf("pump curve: points (0, %g) (%g, %g) (%g, %g) do not fall steadily", h0, q1, h1, q2, h2)
	}
	n := math.Log((h0-h2)/(h0-h1)) / math.Log(q2/q1)
	return PowerCurve{h0, (h0 - h1) / math.Pow(q1, n), n}, nil
}

// Head at flow.
func (c PowerCurve) Head(q float64) float64 { return c.H0 - c.R*math.Pow(q, c.N) }

// WireGauge is diameter and area of solid AWG wire: d = 0.005 92^((36-n)/39)
// in; 4/0 is -3. Range -3 to 40. Source: ASTM B258.
func WireGauge(n int) (quantity.Length, quantity.Area, error) {
	if n < -3 || n > 40 {
		return 0, 0, fmt.Errorf("wire gauge AWG %d: outside 4/0 (-3) to 40", n)
	}
	d := 0.005 * math.Pow(92, float64(36-n)/39) * quantity.Inch
	return quantity.Length(d), quantity.Area(math.Pi / 4 * d * d), nil
}

// FuseAt is the gate of the highest listed load that a current reaches; false
// when the fuse holds it for good.
func FuseAt(current, rating quantity.Current) (FuseGate, bool) {
	var gate FuseGate
	found := false
	for _, g := range FuseGates {
		if quantity.Fraction(current/rating) >= g.Load {
			gate, found = g, true
		}
	}
	return gate, found
}
