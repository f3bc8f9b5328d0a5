package past

import (
	"fmt"

	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/quantity"
)

// Excess is something that the customer declares beside the limit of the
// envelope under which the car left.
type Excess struct {
	What     string // power, manifold pressure, ethanol
	Declared string // empty when nothing was said
	Limit    string
	Beyond   bool
}

// AgainstEnvelope compares what a customer declares at a visit with an
// envelope. What was not said or is not known comes with an empty Declared: it
// must be asked. A declared boost is taken over the standard barometer.
func AgainstEnvelope(d *schema.Declared, e schema.Envelope) []Excess {
	if d == nil {
		d = &schema.Declared{}
	}
	boost := d.Manifold
	if !boost.Known() && d.Boost.Known() {
		if g, err := d.Boost.SI(); err == nil {
			boost = schema.Write[quantity.Absolute](quantity.Write(g.Above(state.StandardBarometer), "kPa abs", 1))
		}
	}
	excess := []Excess{most("power", d.Power, e.Power), most("manifold pressure", boost, e.Manifold), most("ethanol", d.Ethanol, e.EthanolMax)}
	if low, err := e.EthanolMin.SI(); err == nil {
		if x, err := d.Ethanol.SI(); err == nil && x < low {
			excess[2].Limit, excess[2].Beyond = fmt.Sprintf("%s to %s", e.EthanolMin, e.EthanolMax), true
		}
	}
	return excess
}

func most[Q quantity.Quantity](what string, declared, limit schema.Q[Q]) Excess {
	x := Excess{What: what, Limit: limit.String()}
	if !declared.Known() {
		return x
	}
	x.Declared = declared.String()
	d, err := declared.SI()
	l, limited := limit.SI()
	x.Beyond = err == nil && limited == nil && d > l
	return x
}

// Widening is a limit that a later envelope sets further out than an earlier one.
type Widening struct{ What, Was, Now string }

// Widened compares two envelopes. A limit that is no number limits nothing, so
// to leave one out widens it.
func Widened(was, now schema.Envelope) []Widening {
	var out []Widening
	for _, w := range []*Widening{
		wider("power", was.Power, now.Power, false), wider("manifold pressure", was.Manifold, now.Manifold, false),
		wider("engine speed", was.Speed, now.Speed, false), wider("ethanol, most", was.EthanolMax, now.EthanolMax, false),
		wider("ethanol, least", was.EthanolMin, now.EthanolMin, true), wider("altitude", was.Altitude, now.Altitude, false),
		wider("fuel level", was.FuelLevel, now.FuelLevel, true),
	} {
		if w != nil {
			out = append(out, *w)
		}
	}
	return out
}

// wider is nil for a limit that is the same or narrower; least says that it is a
// least value.
func wider[Q quantity.Quantity](what string, was, now schema.Q[Q], least bool) *Widening {
	before, err := was.SI()
	if err != nil {
		return nil
	}
	after, err := now.SI()
	if err != nil || least && after < before || !least && after > before {
		return &Widening{what, was.String(), now.String()}
	}
	return nil
}
