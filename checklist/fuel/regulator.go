package fuel

import (
	"fmt"

	"feedproof/schema/quantity"
)

// RegulatorKind says what the pressure is referred to.
type RegulatorKind string

// Kinds. Vented and Fixed hold a gauge pressure whatever the manifold does;
// Fixed is a returnless module, Vented a regulator open to the air.
const (
	Referenced RegulatorKind = "referenced"
	Vented     RegulatorKind = "vented"
	Fixed      RegulatorKind = "fixed"
)

// RegulatorPlace says which part of the feed carries the whole pump flow.
type RegulatorPlace string

// Places. After the rail the feed and rail carry pump flow; before it, demand.
const (
	AfterRail  RegulatorPlace = "after rail"
	BeforeRail RegulatorPlace = "before rail"
)

// Regulator sets the rail pressure.
type Regulator struct {
	Base     quantity.Gauge // at a manifold equal to the barometer
	Kind     RegulatorKind
	Place    RegulatorPlace    // zero: after the rail with a return line, else before it
	Ratio    quantity.Fraction // of a referenced one; zero: 1
	Rating   quantity.Gauge    // highest setting it can hold; zero unknown
	WideOpen []Drop            // what it takes wide open, for the return
}

// Rail is the gauge pressure it holds at a manifold pressure and barometer:
// base + ratio (MAP - barometer) when referenced, base otherwise. The ratio of
// a rising-rate regulator counts above the barometer only.
func (r Regulator) Rail(manifold, barometer quantity.Absolute) quantity.Gauge {
	if r.Kind != Referenced {
		return r.Base
	}
	boost := quantity.Gauge(manifold - barometer)
	if boost > 0 && r.Ratio != 0 {
		boost *= quantity.Gauge(r.Ratio)
	}
	return r.Base + boost
}

// Across is the pressure difference over an injector: rail + barometer - MAP.
func (r Regulator) Across(manifold, barometer quantity.Absolute) quantity.Difference {
	return quantity.Difference(r.Rail(manifold, barometer)) - quantity.Difference(manifold-barometer)
}

func (r Regulator) validate() error {
	switch r.Kind {
	case Referenced, Vented, Fixed:
	default:
		return fmt.Errorf("regulator: kind %q is not referenced, vented or fixed", r.Kind)
	}
	switch r.Place {
	case "", AfterRail, BeforeRail:
	default:
		return fmt.Errorf("regulator: place %q is neither before nor after the rail", r.Place)
	}
	if err := within("regulator base pressure", r.Base, 0.1e5, 15e5); err != nil {
		return err
	}
	if r.Ratio != 0 {
		if err := within("regulator ratio", r.Ratio, 0.5, 12); err != nil {
			return err
		}
	}
	if r.Rating != 0 && r.Rating < r.Base {
		return fmt.Errorf("regulator: rated to %s, under the base pressure of %s", quantity.Text(r.Rating), quantity.Text(r.Base))
	}
	return nil
}
