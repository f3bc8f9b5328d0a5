package fuel

import (
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	q "feedproof/schema/quantity"
)

func near(t *testing.T, what string, got, want, relative float64) {
	t.Helper()
	if !(math.Abs(got-want) <= relative*math.Abs(want)) {
		t.Errorf("%s = %.10g, want %.10g", what, got, want)
	}
}

func blendOf(t interface{ Fatal(...any) }, x q.Fraction) Blend {
	b, err := EthanolBlend(x)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// A consumption belongs to a fuel: BSFC2 = BSFC1 LHV1/LHV2 (Heywood sec. 2.10),
// with the planning constants; and the published ratio of pure ethanol, 1.5209 by
// volume from 116090 and 76330 Btu/gal (US DOE AFDC), within the spread of gasolines.
func TestConsumptionFollowsTheFuel(t *testing.T) {
	for _, c := range []struct{ bsfc, from, to, want float64 }{{0.36, 0.10, 0.85, 0.5140322533}, {0.53, 0.85, 0, 0.3562353959}} {
		got := ConsumptionOn(q.SpecificConsumption(c.bsfc*q.KgPerKWh), blendOf(t, q.Fraction(c.from)), blendOf(t, q.Fraction(c.to)))
		near(t, "consumption", float64(got)/q.KgPerKWh, c.want, 1e-6)
	}
	s := turboFour()
	s.OutletPressure = 0
	s.Injectors = injectors(4, 2000, 0.95)
	s.Pumps = []Pump{p2()}
	for x, ratio := range map[q.Fraction]float64{0.30: 1.0772, 0.51: 1.1723, 0.85: 1.3676, 1: 1.4762} {
		before := plan(t, s).Demand.Volume
		more := s
		more.Fuel.EthanolMax = x
		near(t, fmt.Sprintf("volume of E%.0f over E10", x*100), float64(plan(t, more).Demand.Volume/before), ratio, 1e-4)
	}
	near(t, "published E100 over E0", blendOf(t, 0).HeatingValueByVolume()/blendOf(t, 1).HeatingValueByVolume(), 116090.0/76330, 0.01)
	if wrong := 0.36; FuelConversionEfficiency(q.SpecificConsumption(wrong*q.KgPerKWh), blendOf(t, 0.85).HeatingValue) < EfficiencyHigh {
		t.Error("a consumption of gasoline taken for one of E85 looks usual")
	}
}

// At equal lambda and efficiency neither mass nor volume falls as ethanol rises.
func TestEthanolNeverLowersDemand(t *testing.T) {
	e, last := turboFour().Engine, Demand{}
	for i := range 1001 {
		d, err := FullPower(e, blendOf(t, q.Fraction(i)/1000))
		if err != nil {
			t.Fatal(err)
		}
		if i > 0 && (d.Mass <= last.Mass || d.Volume <= last.Volume) {
			t.Fatalf("at %g %% ethanol: %v and %v, before %v and %v", float64(i)/10, d.Mass, d.Volume, last.Mass, last.Volume)
		}
		last = d
	}
}

// The highest rail stands at the lowest barometer: base + ratio (MAP - barometer).
// At 2500 m ISO 2533 gives 74.68 kPa, so 3 + (221.325 - 74.68)/100 = 4.466 bar.
func TestHighestRailIsAtAltitude(t *testing.T) {
	for _, c := range []struct{ ratio, metres, want float64 }{{0, 0, 4.2}, {0, 2500, 4.4664}, {6, 0, 10.2}, {6, 2500, 11.799}} {
		s := turboFour()
		s.OutletPressure, s.Supply.Terminal = 0, 13.5
		s.Engine.Power, s.Engine.ManifoldMax, s.Site.Altitude = 200*q.KW, kPaAbs(1.2), q.Length(c.metres)
		s.Regulator.Ratio, s.Injectors = q.Fraction(c.ratio), injectors(4, 1300, 0.95)
		if c.ratio > 1 {
			s.Pumps = []Pump{{Name: "tall", Curve: points([4]float64{3, 330, 270, 6}, [4]float64{8, 250, 200, 12}, [4]float64{14, 180, 130, 18})}}
		}
		r := plan(t, s)
		near(t, fmt.Sprintf("%g:1 at %g m", max(c.ratio, 1), c.metres), float64(r.Highest.Rail)/q.Bar, c.want, 2e-3)
		if c.metres > 0 && !strings.Contains(r.Highest.RailAt, "2500 m") && !strings.Contains(r.Highest.RailAt, "as planned") {
			t.Errorf("highest rail is named %q", r.Highest.RailAt)
		}
		if r.Highest.Outlet <= r.Highest.Rail || r.Distances.HoseRatio > q.Fraction(s.Feed.Rating/r.Highest.Outlet)*(1+1e-12) {
			t.Errorf("outlet %v over a rail of %v, hose ratio %v", r.Highest.Outlet, r.Highest.Rail, r.Distances.HoseRatio)
		}
	}
}

// An engine that never exceeds sea level has no boost at altitude.
func TestNaturalEngineHasNoBoost(t *testing.T) {
	s := swap()
	s.Regulator.Kind, s.Site.Altitude, s.OutletPressure = Referenced, 2500, 0
	r := plan(t, s)
	near(t, "manifold", float64(r.Manifold), float64(r.Barometer), 1e-12)
	if r.Boost > 0 || r.Pressures.Regulated > s.Regulator.Base {
		t.Errorf("boost %v, rail %v", r.Boost, r.Pressures.Regulated)
	}
}

// returnless is a car with its regulator in the tank and a line that takes much.
func returnless() System {
	s := flexThree()
	s.Feed = Line{Bore: 5 * q.MM, Length: 5, K: 8}
	s.OutletPressure = 0
	return s
}

// Without a return line the regulator sits in the tank: what the line takes
// comes off the injectors, in the duty as in the network.
func TestReturnlessLosesInTheLine(t *testing.T) {
	s := returnless()
	r := plan(t, s)
	hot := s.Feed.Loss(r.Demand.Volume, r.Blend).Total
	cold, err := blendOf(t, 0.85).At(ColdFuel)
	if err != nil {
		t.Fatal(err)
	}
	thick := s.Feed.Loss(VolumeFlow(r.Demand.Mass, cold.Density), cold).Total
	if hot < 0.1*q.Bar {
		t.Fatalf("the line takes %v only", hot)
	}
	lost, fuel := hot, r.Blend
	if r.Injection.Cold {
		lost, fuel = thick, cold
	}
	near(t, "across", float64(r.Pressures.Across), float64(2.7*q.Bar-lost), 1e-6)
	near(t, "outlet", float64(r.Pressures.Computed), 4e5, 1e-9)
	need := float64(r.Demand.Mass) / 3
	static := 550 * q.CCPerMin * 684 * math.Sqrt(float64(fuel.Density)/684) * math.Sqrt(float64(r.Pressures.Across)/3e5)
	near(t, "duty", float64(r.Injection.Effective), need/static, 1e-9)
}

// The plan and the network at its own state give the same numbers: with new
// pumps and the fuel it plans with, to 0.1 %.
func TestPlanIsTheNetwork(t *testing.T) {
	asked := 0
	rapid.Check(t, func(t *rapid.T) {
		s := anySystem(t)
		r, err := Plan(s)
		if err != nil {
			return
		}
		o, err := Operate(s, Point{Manifold: r.Manifold, Fuel: asOpen(s, r), Voltage: r.Delivery.Voltage, New: true})
		if err != nil {
			t.Fatal(err)
		}
		if !o.Holds || r.Injection.Cold {
			return
		}
		asked++
		for _, c := range []struct {
			what      string
			got, want float64
		}{{"outlet", float64(o.Outlet), float64(r.Pressures.Computed)}, {"rail", float64(o.Lowest) + float64(r.Boost), float64(r.Pressures.Rail)}, {"across", float64(o.Lowest), float64(r.Pressures.Across)}} {
			if math.Abs(c.got-c.want) > 1e-3*math.Abs(c.want) {
				t.Fatalf("%s: network %g, plan %g", c.what, c.got, c.want)
			}
		}
		if through := o.Pump - o.Return; s.Return == nil && math.Abs(float64(through-r.Demand.Volume)) > 1e-3*float64(r.Demand.Volume) {
			t.Fatalf("through the line %v, planned %v", through, r.Demand.Volume)
		}
	})
	if asked == 0 {
		t.Error("nothing was compared")
	}
}

// asOpen is the fuel that injectors ask for at the regulated pressure when they
// are open so long that at the planned one the engine gets its demand.
func asOpen(s System, r Result) q.MassFlow {
	return r.Demand.Mass * q.MassFlow(math.Sqrt(float64(s.Regulator.Across(r.Manifold, r.Barometer)/r.Pressures.Across)))
}

// A pump measured at one voltage serves pressures that shrink with the square
// of its speed (affinity laws): at 12.0 of 13.5 V a curve to 6 bar ends at 4.74.
func TestOneVoltageIsNotCarriedFurtherThanItsPressures(t *testing.T) {
	one := Pump{Name: "one", Curve: []CurvePoint{{3 * q.Bar, 13.5, 330 * q.LPerH, 10}, {4 * q.Bar, 13.5, 300 * q.LPerH, 12}, {6 * q.Bar, 13.5, 225 * q.LPerH, 15}}}
	c, err := NewCurve(one)
	if err != nil {
		t.Fatal(err)
	}
	_, high := c.Range(12)
	near(t, "highest pressure", float64(high)/q.Bar, 6*(12/13.5)*(12/13.5), 1e-12)
	s := turboFour()
	s.Pumps, s.Supply.Terminal, s.Engine.Power = []Pump{one}, 12, 200*q.KW
	var outside *RangeError
	if _, err := Plan(s); !errors.As(err, &outside) || !outside.Over {
		t.Errorf("5.15 bar at 12 V of a curve to 6 bar at 13.5 V: %v", err)
	}
	s.Engine.ManifoldMax, s.OutletPressure = kPaAbs(1), 0
	r := plan(t, s)
	if len(r.Carried) == 0 || !strings.Contains(r.Carried[0], "measured at 13.50 V only, carried to 12.00 V") {
		t.Errorf("carried: %q", r.Carried)
	}
}

// Unlike pumps in series have one flow, and each the pressure and the current
// that its own curve has there: read off both curves by hand.
func TestSeriesOfUnlikePumps(t *testing.T) {
	strong := Pump{Name: "strong", Curve: []CurvePoint{{0, 13.5, 400 * q.LPerH, 5}, {4 * q.Bar, 13.5, 300 * q.LPerH, 15}, {8 * q.Bar, 13.5, 200 * q.LPerH, 25}}}
	weak := Pump{Name: "weak", Curve: []CurvePoint{{0, 13.5, 350 * q.LPerH, 4}, {1 * q.Bar, 13.5, 300 * q.LPerH, 6}, {3 * q.Bar, 13.5, 200 * q.LPerH, 10}}}
	b, err := newBank(System{Pumps: []Pump{strong, weak}, Arrangement: Series})
	if err != nil {
		t.Fatal(err)
	}
	flow, err := b.flow(5*q.Bar, 13.5, false, true) // 4 bar of the one and 1 of the other at 300 L/h
	if err != nil {
		t.Fatal(err)
	}
	near(t, "flow", float64(flow)/q.LPerH, 300, 1e-9)
	each, all, known := b.current(5*q.Bar, 13.5)
	if !known {
		t.Fatal("no current")
	}
	near(t, "hungriest", float64(each), 15, 1e-9) // half of 5 bar would be 11.25 A
	near(t, "together", float64(all), 21, 1e-9)
}

// What an outside pump must add is the outlet less its inlet, which the suction
// line lowers: suction is worst where the pump moves most, at idle.
func TestSuctionCountsAndIsWorstAtIdle(t *testing.T) {
	s := hillTrack()
	s.Engine.Idle = &Idle{Fuel: 2 * q.KgPerH, Speed: 900 * q.RPM, Manifold: 36e3}
	s.Suction.Line = Line{Bore: 8.7 * q.MM, Length: 1.5, K: 6}
	r := plan(t, s)
	if r.Suction.At != AtIdle || r.Suction.Flow <= r.Delivery.New {
		t.Errorf("suction is judged at %s, %v; at full load the pump moves %v", r.Suction.At, r.Suction.Flow, r.Delivery.New)
	}
	loss := s.Suction.Line.Loss(r.Delivery.Flow, r.Blend).Total
	near(t, "rise", float64(r.Delivery.Rise), float64(r.Pressures.Outlet)+float64(loss), 1e-6)
}

// A return that ends in the main tank makes the surge tank lose all that the
// main pump moves; where nobody says, the worse one counts.
func TestSurgeTankBalance(t *testing.T) {
	s := hillTrack()
	inside := plan(t, s).Surge
	near(t, "leaving", float64(inside.Leaving), float64(plan(t, s).Demand.Volume), 1e-12)
	for _, ends := range []Destination{IntoTank, ""} {
		s.Surge.ReturnEnds = ends
		r := plan(t, s)
		if r.Surge.Leaving < r.Delivery.New || r.Surge.Margin >= inside.Margin {
			t.Errorf("ends in %q: leaving %v of the pump's %v, margin %v after %v", ends, r.Surge.Leaving, r.Delivery.New, r.Surge.Margin, inside.Margin)
		}
	}
}

// The next standard size at or above 1.25 times the current always fits; a wire
// below it never does.
func TestFuseForEveryCurrent(t *testing.T) {
	for tenth := 10; tenth <= 640; tenth++ {
		i := q.Current(float64(tenth) / 10)
		low, high := FuseWindow(i)
		fit := BladeFuses(i, 0)
		if len(fit) == 0 || fit[0] < low*(1-1e-9) || fit[0] > high {
			t.Fatalf("%v A: %v of %v to %v", i, fit, low, high)
		}
		if got := BladeFuses(i, fit[0]-0.5); len(got) > 0 {
			t.Fatalf("%v A: %v on a wire for %v", i, got, fit[0]-0.5)
		}
	}
}

func TestLowVapourPressureDoesNotStopThePlan(t *testing.T) {
	s := turboFour()
	for _, rvp := range []q.Absolute{7e3, 15e3, 0.5e3} {
		s.Fuel.VapourPressure, s.Fuel.Temperature = rvp, celsius(40)
		v := plan(t, s).Vapour
		if v.Known && v.Margin < 50e3 || !v.Known && v.Why == "" {
			t.Errorf("Reid vapour pressure %v: %+v", rvp, v)
		}
	}
}

// A curve that ends is not a limit, and power too low to plan is none either.
func TestWhatCannotBePlannedIsNoLimit(t *testing.T) {
	s := turboFour()
	s.Engine.Power, s.OutletPressure = 200*q.KW, 0
	s.Feed = Line{Bore: 4.5 * q.MM, Length: 4.5, K: 8}
	s.Return = nil
	s.Regulator.Kind, s.Regulator.Base, s.Engine.ManifoldMax = Fixed, 5*q.Bar, SeaLevel
	support, err := SupportedPower(s, PlanningCriteria(s))
	if err != nil {
		t.Fatal(err)
	}
	if support.Power < 20*q.KW {
		t.Errorf("%s gives out at %v", support.Limiting, support.Power)
	}
	s = dragCarb()
	s.Return, s.OutletPressure = nil, 0
	s.Feed.Bore = 6 * q.MM
	support, err = SupportedPower(s, PlanningCriteria(s))
	if err != nil {
		t.Fatal(err)
	}
	for _, i := range support.Items {
		if i.Item == "pump" && (i.Ends == "" || !i.OK || i.Power < s.Engine.Power) {
			t.Errorf("a pump whose curve ends: %s (%+v)", i, i)
		}
	}
}
