package fuel

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	q "feedproof/schema/quantity"
)

// anySystem draws a working four-cylinder system around the worked example.
func anySystem(t *rapid.T) System {
	s := turboFour()
	s.OutletPressure = 0
	s.Engine.Power = q.Power(rapid.Float64Range(100, 420).Draw(t, "kW") * q.KW)
	s.Engine.ManifoldMax = kPaAbs(rapid.Float64Range(0.5, 1.9).Draw(t, "boost bar"))
	s.Engine.SpeedMax = q.EngineSpeed(rapid.Float64Range(5000, 9000).Draw(t, "rpm") * q.RPM)
	s.Fuel.EthanolMax = q.Fraction(rapid.Float64Range(0, 1).Draw(t, "ethanol"))
	s.Regulator.Base = q.Gauge(rapid.Float64Range(2.7, 3.3).Draw(t, "base bar") * q.Bar)
	s.Supply.Terminal = q.Voltage(rapid.Float64Range(11.5, 14.5).Draw(t, "V"))
	s.Feed.Length = q.Length(rapid.Float64Range(1, 6).Draw(t, "feed m"))
	s.Rails = &Rails{Count: rapid.IntRange(1, 2).Draw(t, "rails"), Arrangement: rapid.SampledFrom([]RailArrangement{RailsInSeries, RailsInParallel}).Draw(t, "arrangement"),
		Bore: 12 * q.MM, Length: 0.4, Link: Line{Bore: 8.7 * q.MM, Length: 0.4, K: 2}}
	if rapid.Bool().Draw(t, "returnless") {
		s.Return = nil
		s.Regulator.Place = BeforeRail
	}
	return s
}

func mustPlan(t *rapid.T, s System) Result {
	r, err := Plan(s)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// notMore allows for rounding.
func notMore(a, b float64) bool { return a <= b+1e-9*math.Abs(b) }

func TestMoreVoltsNeverLessFlow(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := anySystem(t)
		low := mustPlan(t, s)
		s.Supply.Terminal += q.Voltage(rapid.Float64Range(0, 0.5).Draw(t, "more V"))
		high := mustPlan(t, s)
		if !notMore(float64(low.Hydraulics.Full.Fed), float64(high.Hydraulics.Full.Fed)) {
			t.Fatalf("fed %v, with more volts %v", low.Hydraulics.Full.Fed, high.Hydraulics.Full.Fed)
		}
		p := q.Difference(rapid.Float64Range(3, 6).Draw(t, "bar") * q.Bar)
		c, err := NewCurve(p1())
		if err != nil {
			t.Fatal(err)
		}
		a, err1 := c.Flow(p, low.Delivery.Voltage)
		b, err2 := c.Flow(p, high.Delivery.Voltage)
		if err1 != nil || err2 != nil || a > b {
			t.Fatalf("at %v: %v, with more volts %v (%v, %v)", p, a, b, err1, err2)
		}
	})
}

func TestMoreBoostNeverMoreMargin(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := anySystem(t)
		low := mustPlan(t, s)
		s.Engine.ManifoldMax += q.Absolute(rapid.Float64Range(0, 0.3).Draw(t, "more bar") * q.Bar)
		high := mustPlan(t, s)
		if !notMore(float64(high.Delivery.Margin), float64(low.Delivery.Margin)) {
			t.Fatalf("margin %v, with more boost %v", low.Delivery.Margin, high.Delivery.Margin)
		}
	})
}

func TestMoreAltitudeNeverMoreMargin(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := anySystem(t)
		s.Engine.ManifoldMax = 200e3
		low := mustPlan(t, s)
		s.Site.Altitude = q.Length(rapid.Float64Range(0, 3000).Draw(t, "m"))
		if high := mustPlan(t, s); !notMore(float64(high.Delivery.Margin), float64(low.Delivery.Margin)) {
			t.Fatalf("margin %v, up high %v", low.Delivery.Margin, high.Delivery.Margin)
		}
	})
}

func TestLongerHoseNeverMorePressure(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := anySystem(t)
		short := mustPlan(t, s)
		s.Feed.Length += q.Length(rapid.Float64Range(0, 4).Draw(t, "more m"))
		long := mustPlan(t, s)
		if !notMore(float64(long.Hydraulics.Full.Lowest), float64(short.Hydraulics.Full.Lowest)) {
			t.Fatalf("lowest pressure %v, through more hose %v", short.Hydraulics.Full.Lowest, long.Hydraulics.Full.Lowest)
		}
		if !notMore(float64(short.Pressures.Computed), float64(long.Pressures.Computed)) {
			t.Fatalf("needs %v, through more hose %v", short.Pressures.Computed, long.Pressures.Computed)
		}
	})
}

// What the pump gives goes through the injectors or back.
func TestMassBalanceOfTheSystem(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		o := mustPlan(t, anySystem(t)).Hydraulics.Full
		used := o.Return
		for _, f := range o.Flows {
			used += f
		}
		if math.Abs(float64(o.Pump-used)) > 1e-10 {
			t.Fatalf("pump %v, used and returned %v", o.Pump, used)
		}
	})
}

// The pump's pressure is used up, to the last pascal, by line, injector and manifold.
func TestEnergyAlongTheFeed(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := anySystem(t)
		r := mustPlan(t, s)
		o := r.Hydraulics.Full
		through := o.Pump
		if s.Return == nil {
			through = o.Pump - o.Return
		}
		rail := o.Outlet - q.Gauge(s.Feed.Loss(through, r.Blend).Total)
		if s.Rails.Count == 2 && s.Rails.Arrangement == RailsInParallel {
			return // the first injector sits behind a link
		}
		if got := o.Across[0] + q.Difference(r.Boost); math.Abs(float64(rail)-float64(got)) > 1 {
			t.Fatalf("rail by the feed %v, by the injector %v", rail, got)
		}
	})
}

func TestBlendEndsArePure(t *testing.T) {
	for x, pure := range map[q.Fraction]Constituent{0: Gasoline, 1: Ethanol} {
		b, err := EthanolBlend(x)
		if err != nil {
			t.Fatal(err)
		}
		if b.Density != pure.Density || b.Stoichiometric != pure.Stoichiometric || b.HeatingValue != pure.HeatingValue ||
			math.Abs(float64(b.Viscosity/pure.Viscosity)-1) > 1e-15 || b.HeatCapacity != pure.HeatCapacity {
			t.Errorf("blend with %v ethanol is %+v, pure %+v", x, b, pure)
		}
	}
}

func TestBlendLiesBetween(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a := rapid.Float64Range(0, 1).Draw(t, "a")
		b := rapid.Float64Range(a, 1).Draw(t, "b")
		less, err1 := EthanolBlend(q.Fraction(a))
		more, err2 := EthanolBlend(q.Fraction(b))
		if err1 != nil || err2 != nil {
			t.Fatal(err1, err2)
		}
		if !notMore(float64(less.Density), float64(more.Density)) || !notMore(float64(more.Stoichiometric), float64(less.Stoichiometric)) ||
			!notMore(float64(more.HeatingValue), float64(less.HeatingValue)) || !notMore(float64(less.Viscosity), float64(more.Viscosity)) {
			t.Fatalf("E%.0f %+v, E%.0f %+v", a*100, less, b*100, more)
		}
		warm, err := less.At(celsius(50))
		if err != nil || warm.Density >= less.Density || warm.Viscosity >= less.Viscosity {
			t.Fatalf("at 50 degC %+v, at 20 %+v (%v)", warm, less, err)
		}
	})
}

// A tilted surface keeps the volume and never shrinks the dry floor as the slope grows.
func TestFreeSurfaceKeepsTheVolume(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l, h := rapid.Float64Range(0.2, 1.2).Draw(t, "length"), rapid.Float64Range(0.1, 0.5).Draw(t, "height")
		d, slope := h*rapid.Float64Range(0, 1).Draw(t, "fill"), rapid.Float64Range(0, 3).Draw(t, "slope")
		s, err := FreeSurface(q.Length(l), q.Length(h), q.Length(d), slope)
		if err != nil {
			t.Fatal(err)
		}
		wet, area := 0.0, 0.0
		const n = 2000
		for i := range n {
			x := (float64(i) + 0.5) / n * l
			z := math.Min(h, math.Max(0, surfaceAt(s, l, slope, x)))
			area += z * l / n
			if z > 0 {
				wet += l / n
			}
		}
		if math.Abs(area-d*l) > 2e-3*h*l || math.Abs(wet-float64(s.Wetted(q.Length(l)))) > 2*l/n && d > 0 {
			t.Fatalf("%+v holds %g of %g, wet %g", s, area, d*l, wet)
		}
	})
}

// surfaceAt is the height of the surface over the floor at x from the low wall.
func surfaceAt(s Surface, l, slope, x float64) float64 {
	if s.Dry > 0 {
		return slope * (x - float64(s.Dry))
	}
	return float64(s.Low) + slope*x
}

func TestPumpVoltageIsAFixedPoint(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		source, r := rapid.Float64Range(11, 15).Draw(t, "V"), rapid.Float64Range(0, 0.2).Draw(t, "ohm")
		draw := func(v q.Voltage) q.Current { return q.Current(2 + 0.8*float64(v)) }
		v := PumpVoltage(q.Voltage(source), q.Resistance(r), draw)
		if off := source - r*float64(draw(v)) - float64(v); math.Abs(off) > 1e-9 {
			t.Fatalf("%v V is off by %g", v, off)
		}
	})
}

func TestSeriesAddsPressure(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b, err := newBank(System{Pumps: []Pump{p1(), p1()}, Arrangement: Series})
		if err != nil {
			t.Fatal(err)
		}
		p := q.Difference(rapid.Float64Range(6.01, 11.99).Draw(t, "bar") * q.Bar)
		both, err := b.flow(p, 13.2, false, true)
		if err != nil {
			t.Fatal(err)
		}
		single, err := b.curves[0].Flow(p/2, 13.2)
		if err != nil || math.Abs(float64(both/single)-1) > 1e-9 {
			t.Fatalf("two in series give %v at %v, one gives %v at half (%v)", both, p, single, err)
		}
	})
}

func TestParallelAddsFlow(t *testing.T) {
	b, err := newBank(System{Pumps: []Pump{p0(), p1()}})
	if err != nil {
		t.Fatal(err)
	}
	both, err := b.flow(5*q.Bar, 13.5, false, true)
	if want := 450 * q.LPerH; err != nil || math.Abs(float64(both)-want) > 1e-12 {
		t.Errorf("%v, want 185 + 265 L/h (%v)", both, err)
	}
}
