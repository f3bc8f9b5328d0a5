package datalog

import (
	"math"

	"feedproof/schema/quantity"
)

// Point is the mean of a short slice of a run: what a chart draws, what shapes
// are fitted to, and where a model is asked. A field that was not logged is
// NaN.
type Point struct {
	At          quantity.Duration    // middle of the slice, in the log's own time
	Speed       quantity.EngineSpeed //
	Manifold    quantity.Absolute    //
	Rail        quantity.Gauge       //
	Drop        quantity.Difference  // across the injectors
	Duty        quantity.Fraction    // commanded
	Flow        quantity.MassFlow    // implied; needs [Conditions.Injectors]
	Demand      quantity.Fraction    // of fuel, in a proportion of its own: 1 has no meaning, twice is twice
	Lambda      quantity.Lambda      // the leaner bank
	Target      quantity.Lambda      //
	Battery     quantity.Voltage     //
	PumpVoltage quantity.Voltage     //
	FuelTemp    quantity.Temperature //
}

// field is the place of a value in a slice.
type field int

const (
	fSpeed field = iota
	fManifold
	fRail
	fDrop
	fDuty
	fFlow
	fDemand
	fLambda
	fTarget
	fBattery
	fPump
	fFuelTemp
	fields
)

// slice sums what falls into a short time.
type slice struct {
	index int
	at    float64
	rows  float64
	sum   [fields]float64
	blank [fields]float64 // rows without
}

func (s *slice) merge(o slice) {
	s.at += o.at
	s.rows += o.rows
	for i := range s.sum {
		s.sum[i] += o.sum[i]
		s.blank[i] += o.blank[i]
	}
}

// trace keeps a run as at most so many slices: when they are used up, each two
// become one of twice the width.
type trace struct {
	width  float64
	limit  int
	start  float64
	until  float64 // the end of the last slice
	slices []slice
}

func newTrace(width float64, limit int) *trace { return &trace{width: width, limit: limit} }

func (t *trace) add(m *moment) {
	if len(t.slices) == 0 {
		t.start = m.at
	}
	s := t.at(m.at)
	s.at += m.at
	s.rows++
	s.add(fSpeed, m.v[sSpeed])
	s.add(fManifold, m.manifold)
	s.add(fRail, m.rail)
	s.add(fDrop, m.drop)
	s.add(fDuty, m.duty)
	s.add(fFlow, m.flow)
	s.add(fDemand, m.demand)
	s.add(fLambda, m.lambda)
	s.add(fTarget, m.near(sTarget))
	s.add(fBattery, m.v[sBattery])
	s.add(fPump, m.v[sPump])
	s.add(fFuelTemp, m.v[sFuelTemp])
}

func (s *slice) add(f field, v float64) {
	if v == v {
		s.sum[f] += v
	} else {
		s.blank[f]++
	}
}

func (t *trace) at(at float64) *slice {
	if n := len(t.slices); n > 0 && at+timeSlack < t.until {
		return &t.slices[n-1]
	}
	s := t.next(at)
	t.until = t.start + t.width*float64(s.index+1)
	return s
}

func (t *trace) next(at float64) *slice {
	index := int((at - t.start + timeSlack) / t.width)
	for len(t.slices) > 0 && t.slices[len(t.slices)-1].index < index && len(t.slices) == t.limit {
		t.halve()
		index = int((at - t.start + timeSlack) / t.width)
	}
	if n := len(t.slices); n > 0 && index <= t.slices[n-1].index {
		return &t.slices[n-1]
	}
	t.slices = append(t.slices, slice{index: index})
	return &t.slices[len(t.slices)-1]
}

func (t *trace) halve() {
	t.width *= 2
	kept := t.slices[:0]
	for _, s := range t.slices {
		s.index /= 2
		if n := len(kept); n > 0 && kept[n-1].index == s.index {
			kept[n-1].merge(s)
		} else {
			kept = append(kept, s)
		}
	}
	t.slices = kept
}

func (t *trace) points() []Point {
	var out []Point
	for _, s := range t.slices {
		mean := func(f field) float64 { return s.sum[f] / (s.rows - s.blank[f]) } // NaN when nothing was logged
		out = append(out, Point{
			At:          quantity.Duration(s.at / s.rows),
			Speed:       quantity.EngineSpeed(mean(fSpeed)),
			Manifold:    quantity.Absolute(mean(fManifold)),
			Rail:        quantity.Gauge(mean(fRail)),
			Drop:        quantity.Difference(mean(fDrop)),
			Duty:        quantity.Fraction(mean(fDuty)),
			Flow:        quantity.MassFlow(mean(fFlow)),
			Demand:      quantity.Fraction(mean(fDemand)),
			Lambda:      quantity.Lambda(mean(fLambda)),
			Target:      quantity.Lambda(mean(fTarget)),
			Battery:     quantity.Voltage(mean(fBattery)),
			PumpVoltage: quantity.Voltage(mean(fPump)),
			FuelTemp:    quantity.Temperature(mean(fFuelTemp)),
		})
	}
	return out
}

// known reports that a value was logged.
func known[Q ~float64](q Q) bool { return !math.IsNaN(float64(q)) }
