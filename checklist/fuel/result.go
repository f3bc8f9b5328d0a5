package fuel

import "feedproof/schema/quantity"

// Result is a plan: every number on the way from the engine's need to the
// margin, unrounded.
type Result struct {
	Blend       Blend // most ethanol, at the envelope's temperature
	Demand      Demand
	Barometer   quantity.Absolute
	Manifold    quantity.Absolute // a natural engine has no more than the barometer
	Boost       quantity.Gauge    // manifold less barometer; negative is vacuum
	Pressures   Pressures
	Delivery    Delivery
	Electrical  Electrical
	Injection   *Injection   // nil with a carburettor
	Carburetted *Carburetted // nil with injectors
	Velocities  Velocities
	Idle        *IdleReturn // nil without a return line
	Suction     *SuctionState
	Vapour      *Vapour // nil without a Reid vapour pressure
	Tank        *TankState
	Surge       *SurgeState
	Distances   Distances
	Hydraulics  *Hydraulics // nil with a carburettor
	States      []State     // solved for the worst of each place; none with a carburettor
	Highest     Highest
	Unread      []string // what was given and cannot be computed, with what it needs
	Carried     []string // where a pump's curve was carried beyond what was measured, with the range it serves
	Notes       []string // what was assumed, and what does not fit together
}

// Pressures along the way, at full power.
type Pressures struct {
	Regulated    quantity.Gauge      // where the regulator holds it, or carburettor inlet
	Rail         quantity.Gauge      // at the injector with the least, or carburettor inlet
	Across       quantity.Difference // that injector
	Feed         LineLoss            // pump to rail at FeedFlow
	FeedFlow     quantity.Flow
	Acceleration quantity.Difference // of the fuel column while the car accelerates
	Computed     quantity.Gauge      // needed at the pump outlet
	Outlet       quantity.Gauge      // planned: Computed, or the lead's figure above it
}

// Delivery of the pumps at the planned outlet pressure.
type Delivery struct {
	Voltage quantity.Voltage
	Rise    quantity.Difference // outlet less inlet
	New     quantity.Flow
	Left    quantity.Fraction // ageing and hot fuel
	Flow    quantity.Flow     // all pumps, aged
	Margin  quantity.Fraction // Flow over demand
	Single  quantity.Fraction // margin with one pump of several running; zero in series
	Power   quantity.Power    // of all pumps, hydraulic
}

// Velocities of the fuel.
type Velocities struct {
	Feed    quantity.Speed
	Return  quantity.Speed
	Suction quantity.Speed
}

// IdleReturn is the whole pump flow going back while the engine idles.
type IdleReturn struct {
	Rail         quantity.Gauge // to be held
	Flow         quantity.Flow  // in the return
	Pump         quantity.Flow  // of all pumps
	Loss         LineLoss
	BackPressure quantity.Gauge
	Lowest       quantity.Gauge // the regulator can hold: back-pressure and its own drop wide open
	Holds        bool
	Extrapolated bool // the pump's curve does not reach down to this pressure
}

// Distances from limits of parts, and how they are used by rules.
type Distances struct {
	Relief      quantity.Difference // lowest relief less the highest outlet pressure
	ReliefKnown bool
	HoseRatio   quantity.Fraction // feed line rating over the highest outlet pressure
	HoseKnown   bool
	EthanolVar  quantity.Fraction // volume need at least over most ethanol, at equal air
}
