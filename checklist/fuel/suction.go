package fuel

import (
	"errors"

	"feedproof/schema/quantity"
)

// VapourReserve is how far below the pressure over the fuel its vapour
// pressure should stay in a vented tank or on a suction line (common practice).
const VapourReserve quantity.Difference = 5e3

// NPSHAvailable is the head over vapour pressure at a pump inlet:
// (p_amb - p_v)/(rho g) + z - h_f with z the fuel level above the pump.
// Source: ANSI/HI 9.6.1; DOE-HDBK-1012/3-92.
func NPSHAvailable(ambient, vapour quantity.Absolute, rho quantity.Density, level, loss quantity.Length) quantity.Length {
	return quantity.Length(float64(ambient-vapour)/(float64(rho)*quantity.G)) + level - loss
}

// Suction is a line from a tank or surge tank to a pump outside it.
type Suction struct {
	Line       Line
	Level      quantity.Length     // of the fuel above the pump at the lowest level
	OverVented quantity.Difference // relief valve over the fuel; zero: vented
}

// SuctionState is what the pump inlet sees where the pumps move most.
type SuctionState struct {
	Flow   quantity.Flow
	At     string // [AtFullLoad] or [AtIdle]
	Loss   LineLoss
	Vacuum quantity.Difference // below the pressure over the fuel
}

// Vapour is how near the fuel is to boiling where it stands under no more
// than the barometer.
type Vapour struct {
	Known     bool // the correlation holds for this blend
	Why       string
	Over      quantity.Absolute // pressure over the fuel
	Pressure  quantity.Absolute // vapour pressure at the fuel temperature
	Margin    quantity.Difference
	Limit     quantity.Temperature // where the margin falls to [VapourReserve]; 100 degC, where the correlation ends, or beyond
	NPSH      quantity.Length      // zero without a suction line
	NPSHKnown bool
}

// lowEthanol is the content up to which the gasoline correlation is used.
const lowEthanol quantity.Fraction = 0.10

// vapour judges the fuel standing under a pressure, and the pump inlet.
func (s System) vapour(b Blend, barometer quantity.Absolute, suction *SuctionState) (*Vapour, error) {
	if s.Fuel.VapourPressure == 0 {
		return nil, nil
	}
	over := barometer
	if s.Suction != nil {
		over += quantity.Absolute(s.Suction.OverVented)
	}
	v := Vapour{Over: over}
	if s.Fuel.EthanolMax > lowEthanol+1e-9 {
		v.Why = "no published correlation for a blend over " + quantity.Format(lowEthanol, "%", 0) + " ethanol: measure at the highest fuel temperature"
		return &v, nil
	}
	var outside *RangeError
	limit, err := VapourLimit(s.Fuel.VapourPressure, over-quantity.Absolute(VapourReserve))
	switch {
	case errors.As(err, &outside) && outside.Over: // it boils beyond where the correlation ends
		limit = celsius(100)
	case err != nil:
		v.Why = err.Error()
		return &v, nil
	}
	v.Limit, v.Known = limit, true
	if s.Fuel.Temperature == 0 {
		v.Why = "no fuel temperature given: only the limit is known"
		return &v, nil
	}
	if v.Pressure, err = VapourPressure(s.Fuel.VapourPressure, s.Fuel.Temperature); err != nil {
		v.Known, v.Why = false, err.Error()
		return &v, nil
	}
	v.Margin = quantity.Difference(over - v.Pressure)
	if suction != nil {
		loss := quantity.Length(float64(suction.Loss.Total) / (float64(b.Density) * quantity.G))
		v.NPSH = NPSHAvailable(over, v.Pressure, b.Density, s.Suction.Level, loss)
		v.NPSHKnown = true
	}
	return &v, nil
}
