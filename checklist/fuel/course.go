package fuel

import (
	"fmt"

	"feedproof/schema/quantity"
)

// What is assumed of a car where its plan does not say. Common practice and
// engineering estimates, from memory; each is a note of [CourseOf].
const (
	assumedInlet     quantity.Length      = 10 * quantity.MM
	assumedFlap      quantity.Flow        = 600 * quantity.LPerH // a 20 mm flap under 50 mm of fuel, by the orifice equation with Cd 0.6
	assumedSock      quantity.Volume      = 0.02 * quantity.Litre
	assumedSurgeLoss HeatLoss             = 1.5
	assumedTankLoss  HeatLoss             = 6
	assumedRailLoss  HeatLoss             = 2
	assumedReprime                        = quantity.Duration(0)
	assumedAir       quantity.Temperature = 303.15 // 30 degC
	assumedBay       quantity.Temperature = 333.15 // 60 degC
	assumedLevel     quantity.Fraction    = 0.25
	mostAssumedLaps                       = 200
)

// Holder is what stands between a tank and the pump.
type Holder string

// Holders.
const (
	HoldsSurge     Holder = "surge tank"
	HoldsReservoir Holder = "reservoir"
	HoldsNothing   Holder = "pick-up sock"
)

// Voyage is a course made of a system, with what had to be assumed.
type Voyage struct {
	Course  Course
	Holder  Holder
	Level   quantity.Volume // in the main tank at which hard driving ends
	Assumed []string
}

// CourseOf is the way of the fuel in a system that was planned: from its tank by
// lift pump and surge tank, or by a reservoir, to the pumps.
//
// Errors: a tank whose size is not known; a reservoir larger than the tank.
func CourseOf(s System, r Result) (Voyage, error) {
	t := s.Tank
	if t == nil || t.Geometric == 0 || t.Length == 0 || t.Height == 0 && len(t.Depths) == 0 {
		return Voyage{}, fmt.Errorf("tank: its volume, length and height are needed to know where the fuel stands")
	}
	if err := t.validate(); err != nil {
		return Voyage{}, err
	}
	b, err := newBank(s)
	if err != nil {
		return Voyage{}, err
	}
	v := Voyage{Course: Course{
		Blend: r.Blend, Barometer: r.Barometer, Demand: r.Demand.Volume, Tank: t.box(), SurgeLoss: assumedSurgeLoss, TankLoss: assumedTankLoss, RailLoss: assumedRailLoss,
		Bay: assumedBay, Air: assumedAir, Start: assumedAir, Reprime: assumedReprime, Pumps: s.pumped(b, r),
	}}
	c := &v.Course
	c.PickUp = PickUp{c.Tank.Length / 2, t.PickUp, min(assumedInlet, c.Tank.Height)}
	c.Fuel = t.Geometric * quantity.Volume(1-t.expansion())
	if s.Fuel.EthanolMax <= lowEthanol+1e-9 {
		c.RVP = s.Fuel.VapourPressure
	}
	level := t.Level
	if level == 0 {
		level = assumedLevel
		v.assume("hard driving ends at %s of the tank", quantity.Format(level, "%", 0))
	}
	v.Level = t.Geometric * quantity.Volume(level)
	v.hold(s, r)
	v.assume("the pick-up stands in the middle fore and aft, its inlet %s over the floor", quantity.Format(c.PickUp.Inlet, "mm", 0))
	v.assume("air and fuel start at %s, the bay is at %s; surge tank 1.5 W/K, tank 6 W/K, rail and hoses 2 W/K", quantity.Format(c.Air, "degC", 0), quantity.Format(c.Bay, "degC", 0))
	return v, c.validate()
}

func (v *Voyage) assume(format string, args ...any) {
	v.Assumed = append(v.Assumed, fmt.Sprintf(format, args...))
}

// box is a rectangular tank of the volume: Length is across the car.
func (t Tank) box() Box {
	height := t.Height
	for _, p := range t.Depths {
		height = max(height, p.Depth)
	}
	return Box{quantity.Length(float64(t.Geometric) / float64(t.Length) / float64(height)), t.Length, height}
}

// hold sets what stands between tank and pump.
func (v *Voyage) hold(s System, r Result) {
	c := &v.Course
	switch {
	case s.Surge != nil && r.Surge != nil:
		v.Holder, c.Surge, c.Lift, c.Over = HoldsSurge, s.Surge.Volume, r.Surge.Lift, s.overVented()
		c.LiftPower = s.Surge.liftPower()
		c.Return = s.Surge.ReturnEnds
		if s.Return == nil && c.Return == "" {
			c.Return = IntoSurge // nothing returns
		}
		if c.Return == "" {
			c.Return = IntoTank
			v.assume("where the return ends is not said: taken as the main tank, which is worse")
		}
		if c.LiftPower == 0 {
			v.assume("the lift pump's curve has no current: its heat is left out")
		}
	case s.Tank.Reservoir > 0:
		v.Holder, c.Surge, c.Lift = HoldsReservoir, s.Tank.Reservoir, assumedFlap
		c.Return = IntoTank
		if s.Tank.ReturnsInto || s.Return == nil {
			c.Return = IntoSurge
		}
		v.assume("a flap fills the reservoir with up to %s while fuel stands at the pick-up; a jet pump brings less", quantity.Format(assumedFlap, "L/h", 0))
	default:
		v.Holder, c.Surge, c.Lift, c.Return = HoldsNothing, assumedSock, assumedFlap, IntoTank
		v.assume("no reservoir and no surge tank: the pick-up holds %s", quantity.Format(assumedSock, "mL", 0))
	}
	if s.Return == nil {
		c.Pumps = onlyBurnt(c.Pumps, c.Demand)
	}
}

// onlyBurnt is pumps of a returnless system: what is not burnt never leaves.
func onlyBurnt(pumps func(quantity.Gauge) (quantity.Flow, quantity.Power, error), demand quantity.Flow) func(quantity.Gauge) (quantity.Flow, quantity.Power, error) {
	return func(boost quantity.Gauge) (quantity.Flow, quantity.Power, error) {
		q, p, err := pumps(boost)
		return min(q, demand), p, err
	}
}

func (s System) overVented() quantity.Difference {
	if s.Suction == nil {
		return 0
	}
	return s.Suction.OverVented
}

func (s Surge) liftPower() quantity.Power {
	curve, err := NewCurve(s.Lift)
	if err != nil {
		return 0
	}
	i, _ := curve.Current(s.Pressure, s.Terminal)
	return quantity.Power(float64(s.Terminal) * float64(i))
}

// pumped is flow and power of new pumps at a boost: what leaves a tank, so new
// and not aged. Under the lowest measured pressure their curves are carried on.
func (s System) pumped(b bank, r Result) func(quantity.Gauge) (quantity.Flow, quantity.Power, error) {
	losses, volts := r.Pressures.Computed-r.Pressures.Regulated, r.Delivery.Voltage
	return func(boost quantity.Gauge) (quantity.Flow, quantity.Power, error) {
		rail := r.Pressures.Regulated
		if s.Carburettor == nil {
			rail = s.Regulator.Rail(r.Barometer+quantity.Absolute(boost), r.Barometer)
		}
		outlet := quantity.Difference(rail + losses)
		q, err := b.flow(outlet, volts, false, outlet > quantity.Difference(r.Pressures.Outlet))
		_, amps, _ := b.current(outlet, volts)
		return q, quantity.Power(float64(volts) * float64(amps)), err
	}
}

// Laps is how many laps empty the main tank from the start to the level at
// which hard driving ends, at least one.
func (v Voyage) Laps(lap Lap) int {
	burns := float64(lap.Burns(v.Course.Demand))
	if burns <= 0 {
		return 1
	}
	n := int(float64(v.Course.Fuel-v.Level)/burns) + 1
	return min(max(n, 1), mostAssumedLaps)
}

// Cover is what a tank has at its lowest level, and needs to keep its pick-up in
// fuel.
type Cover struct{ Has, Needs quantity.Volume }

// Covered reports that it has no less than it needs.
func (c Cover) Covered() bool { return c.Has >= c.Needs }

// Cover is that of the tank in its planned corner to either side, with the
// acceleration scaled; the harder side counts.
func (t Tank) Cover(scale float64) (Cover, error) {
	if err := first(t.validate(), t.box().validate()); err != nil {
		return Cover{}, err
	}
	b := t.box()
	at := PickUp{b.Length / 2, t.PickUp, min(assumedInlet, b.Height)}
	left, right := TiltUnder(0, t.Cornering, 0).SteeperBy(scale), TiltUnder(0, -t.Cornering, 0).SteeperBy(scale)
	return Cover{t.Geometric * quantity.Volume(t.Level), max(b.Covering(left, at), b.Covering(right, at))}, at.validate(b)
}
