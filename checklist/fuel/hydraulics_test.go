package fuel

import (
	"math"
	"strings"
	"testing"

	q "feedproof/schema/quantity"
)

// eight is a V8 with two rails and its regulator behind them, as the committed
// network net1: 8.7 mm hoses, 14 mm rails.
func eight(arrangement RailArrangement) System {
	s := turboFour()
	s.Engine.Power, s.Engine.ManifoldMax = 380*q.KW, SeaLevel
	s.Injectors = injectors(8, 1000, 0.9)
	s.Rails = &Rails{Count: 2, Arrangement: arrangement, Bore: 14 * q.MM, Length: 0.4, Link: Line{Bore: 8.7 * q.MM, Length: 0.6, K: 2}}
	s.OutletPressure = 0
	return s
}

// In series with the regulator last, the last injector of the last rail sees
// the regulated pressure and every one before it more.
func TestSeriesRailsFallTowardsTheRegulator(t *testing.T) {
	o := plan(t, eight(RailsInSeries)).Hydraulics.Full
	if len(o.Across) != 8 || !o.Holds {
		t.Fatalf("%+v", o)
	}
	for i := 1; i < 8; i++ {
		if o.Across[i] >= o.Across[i-1] {
			t.Errorf("injector %d sees %v, the one before it %v", i+1, o.Across[i], o.Across[i-1])
		}
	}
	if off := math.Abs(float64(o.Across[7] - 3*q.Bar)); off > 1 {
		t.Errorf("the last injector is %g Pa off the regulator", off)
	}
	if o.RailToRail <= 0 || o.Lowest != o.Across[7] || o.Highest != o.Across[0] {
		t.Errorf("%+v", o)
	}
}

func TestEqualParallelRailsAreEqual(t *testing.T) {
	o := plan(t, eight(RailsInParallel)).Hydraulics.Full
	if math.Abs(float64(o.RailToRail)) > 1 {
		t.Errorf("two equal rails differ by %v", o.RailToRail)
	}
}

// A pump that cannot follow leaves the injectors short, and the regulator shut.
func TestStarvedRail(t *testing.T) {
	s := eight(RailsInSeries)
	s.Engine.Power = 480 * q.KW
	s.Pumps[0].Ageing = 0.7
	o := plan(t, s).Hydraulics.Full
	if o.Holds || o.Return > 1e-10 || o.Fed >= 1 || o.Lowest >= 3*q.Bar {
		t.Errorf("margin %v, and %+v", plan(t, s).Delivery.Margin, o)
	}
}

// A return too small for the pump lifts the rail at idle over its base.
func TestSmallReturnLiftsIdle(t *testing.T) {
	s := eight(RailsInSeries)
	s.Engine.Idle = &Idle{Fuel: 2 * q.KgPerH, Speed: 800 * q.RPM, Manifold: 40e3}
	r := plan(t, s)
	if !r.Idle.Holds || !r.Hydraulics.Idle.Holds {
		t.Errorf("a -6 return: %+v %+v", r.Idle, r.Hydraulics.Idle)
	}
	s.Return.Bore = 4 * q.MM
	r = plan(t, s)
	if r.Idle.Holds || r.Hydraulics.Idle.Holds || r.Hydraulics.Idle.Regulated <= r.Idle.Rail {
		t.Errorf("a 4 mm return: %+v %+v", r.Idle, r.Hydraulics.Idle)
	}
}

// The model runs at logged points too.
func TestOperate(t *testing.T) {
	s := eight(RailsInSeries)
	full := plan(t, s)
	o, err := Operate(s, Point{Manifold: s.Engine.ManifoldMax, Fuel: full.Demand.Mass, Voltage: 13.2})
	if err != nil {
		t.Fatal(err)
	}
	if math.Abs(float64(o.Pump-full.Hydraulics.Full.Pump)) > 1e-12 {
		t.Errorf("pump %v, in the plan %v", o.Pump, full.Hydraulics.Full.Pump)
	}
	for say, at := range map[string]Point{"no pressure is left": {Manifold: 800e3, Fuel: 0.01, Voltage: 13.2}, "terminal voltage": {Manifold: 1e5, Fuel: 0.01, Voltage: 3}} {
		s := s
		if say == "no pressure is left" {
			s.Regulator.Kind = Fixed
		}
		if _, err := Operate(s, at); err == nil || !strings.Contains(err.Error(), say) {
			t.Errorf("%v: %v, want %q", at, err, say)
		}
	}
}
