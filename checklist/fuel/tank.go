package fuel

import (
	"fmt"

	"feedproof/schema/quantity"
)

// Tank is a fuel tank with its pick-up and reservoir.
type Tank struct {
	Geometric   quantity.Volume
	Unpumpable  quantity.Volume
	Expansion   quantity.Fraction // space; zero: [ExpansionSpace]
	Length      quantity.Length   // along the acceleration asked about, of a rectangular section
	Height      quantity.Length
	Depths      DepthTable        // of a measured tank, instead of Height
	PickUp      quantity.Length   // from the wall the fuel runs to
	Level       quantity.Fraction // lowest of the envelope
	Cornering   quantity.Acceleration
	Reservoir   quantity.Volume
	ReturnsInto bool // the return ends in the reservoir
}

// ExpansionSpace is the least share of a tank left free (common practice).
const ExpansionSpace quantity.Fraction = 0.05

// Usable is geometric less unpumpable less expansion space.
func (t Tank) Usable() (quantity.Volume, error) {
	if err := first(positive("tank volume", t.Geometric), t.validate()); err != nil {
		return 0, err
	}
	usable := t.Geometric*quantity.Volume(1-t.expansion()) - t.Unpumpable
	return usable, positive("usable tank volume", usable)
}

func (t Tank) expansion() quantity.Fraction {
	if t.Expansion == 0 {
		return ExpansionSpace
	}
	return t.Expansion
}

func (t Tank) validate() error {
	if t.Geometric > 0 && t.Reservoir > t.Geometric {
		return fmt.Errorf("reservoir: %s is more than the tank of %s holds", quantity.Text(t.Reservoir), quantity.Text(t.Geometric))
	}
	return first(notNegative("tank volume", t.Geometric), notNegative("unpumpable volume", t.Unpumpable), within("expansion space", t.Expansion, 0, 0.5),
		notNegative("tank length", t.Length), notNegative("tank height", t.Height), within("lowest level", t.Level, 0, 1),
		notNegative("cornering", t.Cornering), notNegative("reservoir", t.Reservoir), within("pick-up distance", t.PickUp, 0, max(t.Length, 0)))
}

// Slosh is where the fuel stands in the envelope's worst corner.
type Slosh struct {
	Depth   quantity.Length // level ground
	Surface Surface
	Wetted  quantity.Length
	Covered bool
}

// Tilt is the surface at the lowest level under the steady acceleration.
func (t Tank) Tilt() (Slosh, error) {
	height, depth := t.Height, t.Height*quantity.Length(t.Level)
	if len(t.Depths) > 0 {
		var err error
		if depth, err = t.Depths.Depth(t.Geometric * quantity.Volume(t.Level)); err != nil {
			return Slosh{}, err
		}
		for _, p := range t.Depths {
			height = max(height, p.Depth)
		}
	}
	s, err := FreeSurface(t.Length, height, depth, SurfaceSlope(t.Cornering, 0))
	if err != nil {
		return Slosh{}, err
	}
	wet := s.Wetted(t.Length)
	return Slosh{depth, s, wet, wet > t.PickUp}, nil
}

// TankState is what the tank means for the plan.
type TankState struct {
	Usable    quantity.Volume   // zero without a volume
	Range     quantity.Duration // at full power
	Slosh     *Slosh            // nil without a section
	Endurance quantity.Duration // of the reservoir, pick-up dry
	PerHour   quantity.TemperatureDifference
	PerHourIn quantity.Volume // fuel at the lowest level that takes the heat
}

// ReservoirEndurance is how long a reservoir lasts: its volume over the flow
// that leaves it, demand when the return ends in it, else the whole pump flow.
func ReservoirEndurance(v quantity.Volume, leaving quantity.Flow) quantity.Duration {
	return quantity.Duration(float64(v) / float64(leaving))
}

// state is what is known of the tank: of one without a volume no range and no
// heating, of one without a section no surface.
func (t Tank) state(demand, pumped quantity.Flow, heat quantity.Power, fuel Blend) (TankState, error) {
	var out TankState
	if err := t.validate(); err != nil {
		return out, err
	}
	if t.Geometric > 0 {
		usable, err := t.Usable()
		if err != nil {
			return out, err
		}
		out.Usable, out.Range = usable, ReservoirEndurance(usable, demand)
	}
	if t.Length > 0 && (t.Height > 0 || len(t.Depths) > 0) && t.Level > 0 {
		s, err := t.Tilt()
		if err != nil {
			return out, err
		}
		out.Slosh = &s
	}
	if t.Reservoir > 0 {
		leaving := pumped
		if t.ReturnsInto {
			leaving = demand
		}
		out.Endurance = ReservoirEndurance(t.Reservoir, leaving)
	}
	if t.Level > 0 && t.Geometric > 0 {
		out.PerHourIn = t.Geometric * quantity.Volume(t.Level)
		out.PerHour = Warming(heat, out.PerHourIn, fuel, quantity.Hour)
	}
	return out, nil
}

// unread names what is given of the tank and cannot be computed; empty when all
// of it can.
func (t Tank) unread(s TankState) string {
	if t.Cornering > 0 && s.Slosh == nil {
		return "tank: to say whether the pick-up is covered at " + quantity.Format(t.Cornering, "g", 2) + " give its length, height, pick-up and the lowest level"
	}
	return ""
}

// Surge is a small tank at the engine's pump, kept full by a lift pump.
type Surge struct {
	Volume   quantity.Volume
	Lift     Pump
	Pressure quantity.Difference // the lift pump works against
	Terminal quantity.Voltage
	Dry      quantity.Duration // longest the lift pump draws air

	ReturnEnds Destination // of the main pump's return line
}

// Destination is where a return line ends; empty is not known, and then the
// worse one counts.
type Destination string

// Destinations.
const (
	IntoSurge Destination = "surge tank"
	IntoTank  Destination = "tank"
)

// LiftMargin is the least lift flow over what leaves the surge tank for good
// (common practice): the demand where the return ends in it, all that the main
// pump moves where it ends elsewhere.
const LiftMargin quantity.Fraction = 1.25

// SurgeState is the balance of a surge tank in its worst state.
type SurgeState struct {
	Lift      quantity.Flow // aged
	Leaving   quantity.Flow // for good
	At        string        // [AtFullLoad] or [AtIdle]
	Margin    quantity.Fraction
	Endurance quantity.Duration
	Used      quantity.Volume   // over the longest dry spell
	Refill    quantity.Flow     // lift less what leaves
	Recovery  quantity.Duration // to full after it; zero with no refill
}

func (s Surge) state(demand, leaving quantity.Flow, hot bool) (SurgeState, error) {
	switch s.ReturnEnds {
	case "", IntoSurge, IntoTank:
	default:
		return SurgeState{}, fmt.Errorf("surge tank: return ends in %q, which is neither %s nor %s", s.ReturnEnds, IntoSurge, IntoTank)
	}
	if err := first(positive("surge volume", s.Volume), notNegative("surge dry spell", s.Dry)); err != nil {
		return SurgeState{}, err
	}
	if s.Lift.Name == "" {
		s.Lift.Name = "lift pump"
	}
	c, err := NewCurve(s.Lift)
	if err != nil {
		return SurgeState{}, err
	}
	q, err := c.Flow(s.Pressure, s.Terminal)
	if err != nil {
		return SurgeState{}, err
	}
	q *= quantity.Flow(bank{pumps: []Pump{s.Lift}, hot: hot}.left(0))
	leaving = max(leaving, demand)
	out := SurgeState{Lift: q, Leaving: leaving, Margin: quantity.Fraction(q / leaving), Endurance: ReservoirEndurance(s.Volume, leaving),
		Used: quantity.Volume(float64(leaving) * float64(s.Dry)), Refill: q - leaving}
	if out.Refill > 0 {
		out.Recovery = quantity.Duration(float64(out.Used) / float64(out.Refill))
	}
	return out, nil
}

// Module is the geometry of an in-tank module.
type Module struct {
	Depth     quantity.Length // inside, from flange to floor, at the hole
	Gasket    quantity.Length // compressed
	Clearance quantity.Length // of the sock or foot above the floor
	Baffle    quantity.Length // height of a baffle the hanger passes; zero none
}
