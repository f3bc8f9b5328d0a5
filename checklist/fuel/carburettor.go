package fuel

import (
	"fmt"
	"math"

	"feedproof/schema/quantity"
)

// Carburettor is a carburetted system: pressure at the inlet, needles and seats, bowls.
type Carburettor struct {
	Pressure quantity.Gauge // set at the inlet
	Seats    int
	Seat     quantity.Length // diameter
	Bowls    quantity.Volume // together
}

// Discharge coefficient of a needle seat and the share of a bowl that is usable
// before the mixture leans (common practice).
const (
	SeatDischarge                   = 0.62
	BowlUsable    quantity.Fraction = 0.40
)

// SeatFlow is the flow past one open needle seat: 0.62 A sqrt(2 dp/rho).
func SeatFlow(diameter quantity.Length, dp quantity.Difference, rho quantity.Density) quantity.Flow {
	area := math.Pi / 4 * float64(diameter) * float64(diameter)
	return quantity.Flow(SeatDischarge * area * math.Sqrt(2*float64(dp)/float64(rho)))
}

// Carburetted is the state of a carburettor at full power.
type Carburetted struct {
	SeatFlow     quantity.Flow // all seats open
	SeatMargin   quantity.Fraction
	Reserve      quantity.Duration   // usable bowl at full demand
	Acceleration quantity.Difference // taken by the launch
	AtLaunch     quantity.Gauge      // left at the inlet when the pump only holds the set pressure
}

func (c Carburettor) validate() error {
	if c.Seats < 1 {
		return fmt.Errorf("carburettor: %d needle seats, there must be at least one", c.Seats)
	}
	return first(within("carburettor pressure", c.Pressure, 0.02e5, 1e5), within("needle seat", c.Seat, 0.5e-3, 10e-3), notNegative("bowl volume", c.Bowls))
}

func (c Carburettor) state(demand quantity.Flow, rho quantity.Density, acceleration quantity.Difference) Carburetted {
	flow := quantity.Flow(c.Seats) * SeatFlow(c.Seat, quantity.Difference(c.Pressure), rho)
	return Carburetted{
		SeatFlow: flow, SeatMargin: quantity.Fraction(flow / demand),
		Reserve:      quantity.Duration(float64(BowlUsable) * float64(c.Bowls) / float64(demand)),
		Acceleration: acceleration, AtLaunch: c.Pressure - quantity.Gauge(acceleration),
	}
}
