package fuel

import (
	"fmt"
	"math"
	"strings"

	q "feedproof/schema/quantity"
)

// Pumps of rows that name one: invented curves, with the flow and current that
// the rows' reference uses.
var rowPumps = map[string]func() Pump{"P0": p0, "P1": p1, "P2": p2}

var surgeFamilies = []family{
	answered("t17", `deplete\d`, func(g *given) (float64, error) {
		return sure(ReservoirEndurance(q.Volume(g.si("volume")), q.Flow(g.si("leaving"))))
	}),
	answered("t17", `deplete_lift`, func(g *given) (float64, error) {
		t, runs := FullLoadTime(q.Volume(g.si("volume")), q.Flow(g.si("leaving")), q.Flow(g.si("lift")))
		if !runs {
			return 0, fmt.Errorf("it lasts for ever")
		}
		return sure(t)
	}),
	answered("t17", `recover`, func(g *given) (float64, error) {
		t, fills := Recovery(q.Duration(g.si("dry")), q.Flow(g.si("leaving")), q.Flow(g.si("lift")))
		if !fills {
			return 0, fmt.Errorf("it never fills")
		}
		return sure(t)
	}),
	byID("t17", `stir_(inf|\d+)`, func(id string, g *given) (float64, error) {
		after := 1e5 // ever after
		if id != "stir_inf" {
			after = g.si("time")
		}
		s := rowTank(g, g.si("volume"), g.si("flow"), g.si("flow"), g.si("t_in"))
		return s.After([2]float64{g.si("t0"), 0}, q.Duration(after), 0.1)[0], nil
	}),
	answered("t17", `stir_falling`, func(g *given) (float64, error) {
		s := rowTank(g, g.si("volume0"), g.si("q_in"), g.si("q_out"), g.si("t_in"))
		return s.After([2]float64{g.si("t0"), 0}, q.Duration(g.si("time")), 0.1)[0], nil
	}),
	byID("t17", `brine_[12]`, func(id string, g *given) (float64, error) {
		v, flow := q.Volume(g.si("volume")), q.Flow(g.si("flow"))
		s := Stirred{Volume: [2]q.Volume{v, v}, Own: [2]q.Flow{-flow, -flow}, Other: [2]q.Flow{0, flow}, Gain: [2]float64{float64(flow) * g.si("inlet"), 0}}
		return s.After([2]float64{}, q.Duration(g.si("time")), 10)[numberOf(id)-1] * float64(v), nil
	}),
	byID("t17", `exchange_[12]`, func(id string, g *given) (float64, error) {
		v := [2]q.Volume{q.Volume(g.si("volume1")), q.Volume(g.si("volume2"))}
		flow := q.Flow(g.si("flow"))
		s := Stirred{Volume: v, Own: [2]q.Flow{-flow, -flow}, Other: [2]q.Flow{flow, flow}}
		at := s.After([2]float64{g.si("salt1") / float64(v[0]), g.si("salt2") / float64(v[1])}, q.Duration(g.si("time")), 1)
		i := numberOf(id) - 1
		return at[i] * float64(v[i]), nil
	}),
	byID("t17", `loop_(surge|main|inf)`, func(id string, g *given) (float64, error) {
		after := 1e7
		if id != "loop_inf" {
			after = g.si("time")
		}
		flow, heat := q.Flow(g.si("flow")), g.si("rho")*g.si("c")
		u := q.Flow(g.si("ua_main") / heat)
		s := Stirred{Volume: [2]q.Volume{q.Volume(g.si("surge")), q.Volume(g.si("main"))}, Own: [2]q.Flow{-flow, -flow - u}, Other: [2]q.Flow{flow, flow},
			Gain: [2]float64{0, g.si("power")/heat + float64(u)*g.si("t_air")}}
		at := s.After([2]float64{g.si("t0"), g.si("t0")}, q.Duration(after), 5)
		if id == "loop_surge" {
			return at[0], nil
		}
		return at[1], nil
	}),
	answered("t17", `rate_all`, func(g *given) (float64, error) {
		return HeatingRate(q.Power(g.si("power")), q.Volume(g.si("volume")), rowFuel(g)), nil
	}),
	answered("t17", `rail_out`, func(g *given) (float64, error) {
		return sure(ReturnTemperature(q.Temperature(g.si("t_in")), q.Temperature(g.si("t_bay")), q.Power(g.si("power")), HeatLoss(g.si("ua_rail")), q.Flow(g.si("flow")), rowFuel(g)))
	}),
	answered("t17", `vapour_.*`, func(g *given) (float64, error) {
		air, err := rowAir(g)
		if err != nil {
			return 0, err
		}
		return value(VapourMargin(air.Pressure+q.Absolute(g.si("over")), q.Absolute(g.si("rvp")), q.Temperature(g.si("t"))))
	}),
	byID("t17", `car\d_.*`, carRow),
}

// rowAir is the atmosphere of rows, whose altitudes are geopotential.
func rowAir(g *given) (Air, error) {
	h := g.si("altitude")
	return StandardAtmosphere(q.Length(6356766 * h / (6356766 - h)))
}

var tightnessFamilies = []family{
	rows("t10", `dV_liquid`, convert(func(v []float64) ([]float64, error) {
		return one(LiquidLost(q.Volume(v[0]*q.Litre), q.Difference(v[1]*q.KPa), v[2]*1e9)/q.MilliL, nil)
	}, `V=# L`, `dp=# kPa`, `K=# GPa`)),
	rows("t10", `air_decay`, convert(func(v []float64) ([]float64, error) {
		return []float64{AirLeak(q.Volume(v[0]*q.Litre), q.Difference(v[1]*q.KPa), q.Duration(v[2]))}, nil
	}, `V=# L`, `dp=# kPa`, `in # s`)),
	rows("t10", `air_temp`, convert(func(v []float64) ([]float64, error) {
		return []float64{PressurePerKelvin(q.Absolute(v[0]*q.KPa), q.Temperature(v[1])) / q.KPa}, nil
	}, `# kPa abs`, `# K$`)),
}

func numberOf(id string) int { return int(id[len(id)-1] - '0') }

func rowFuel(g *given) Blend {
	return Blend{Density: q.Density(g.si("rho")), HeatCapacity: HeatCapacity(g.si("c"))}
}

// rowTank is one stirred tank with a power, and a loss to what is around it.
func rowTank(g *given, volume, in, out, inlet float64) Stirred {
	heat := rowFuel(g).volumeHeat()
	u := g.si("ua") / heat
	return Stirred{Volume: [2]q.Volume{q.Volume(volume), 1}, Rate: [2]q.Flow{q.Flow(in - out), 0}, Own: [2]q.Flow{q.Flow(-in - u), 0},
		Gain: [2]float64{in*inlet + g.si("power")/heat + u*g.si("t_around"), 0}}
}

// carRow runs a car of the table over its laps and picks what the id asks for.
func carRow(id string, g *given) (float64, error) {
	c, lap, laps, err := rowCourse(g)
	if err != nil {
		return 0, err
	}
	s, err := c.Run(lap, laps)
	if err != nil {
		return 0, err
	}
	_, what, _ := strings.Cut(id, "_")
	if low := float64(s.LowAt); what == "t_margin5" && low < 0 {
		return 0, fmt.Errorf("the margin never falls under 5 kPa")
	}
	picked, ok := map[string]float64{
		"reserve": float64(s.Reserve), "min": float64(s.Least), "min_lap1": float64(s.LeastByLap[0]), "t_min": float64(s.LeastAt), "dry": float64(s.Dry), "starved": float64(s.Starved),
		"t_surge": float64(s.Surge.Temperature), "t_hot": float64(s.Hottest), "t_margin5": float64(s.LowAt), "t_main": float64(s.Main.Temperature), "v_main": float64(s.Main.Volume), "margin": float64(s.Margin),
	}[what]
	if !ok {
		return 0, fmt.Errorf("nothing of a session is called %q", what)
	}
	return picked, nil
}

func rowCourse(g *given) (Course, Lap, int, error) {
	name := g.word("pump")
	make, known := rowPumps[name]
	if !known {
		return Course{}, nil, 0, fmt.Errorf("no pump %q", name)
	}
	curve, err := NewCurve(make())
	if err != nil {
		return Course{}, nil, 0, err
	}
	air, err := rowAir(g)
	if err != nil {
		return Course{}, nil, 0, err
	}
	n, age, volts, outlet := g.si("pumps"), g.si("age"), q.Voltage(g.si("volts")), q.Gauge(g.si("base")+g.si("loss"))
	c := Course{
		Blend: rowFuel(g), Barometer: air.Pressure, Over: q.Difference(g.si("over")), RVP: q.Absolute(g.si("rvp")), Demand: q.Flow(g.si("demand")),
		Pumps: func(boost q.Gauge) (q.Flow, q.Power, error) {
			p := q.Difference(outlet + boost)
			flow, err := curve.beyond(p, volts)
			amps, _ := curve.Current(p, volts)
			return flow * q.Flow(n*age), q.Power(n * float64(volts) * float64(amps)), err
		},
		Return: map[string]Destination{"surge": IntoSurge, "main": IntoTank}[g.word("return_to")],
		Surge:  q.Volume(g.si("surge_max")), Lift: q.Flow(g.si("lift")), LiftPower: q.Power(g.si("lift_power")), Reprime: q.Duration(g.si("reprime")), Pot: q.Volume(g.si("pot")), PotFill: q.Flow(g.si("pot_fill")),
		Tank: rowBox(g), PickUp: rowPickUp(g, true), Fuel: q.Volume(g.si("main0")),
		SurgeLoss: HeatLoss(g.si("ua_surge")), TankLoss: HeatLoss(g.si("ua_main")), RailLoss: HeatLoss(g.si("ua_rail")),
		Bay: q.Temperature(g.si("t_bay")), Air: q.Temperature(g.si("t_air")), Start: q.Temperature(g.si("t0")),
	}
	if g.si("surge0") != g.si("surge_max") {
		return Course{}, nil, 0, fmt.Errorf("the surge tank does not start full")
	}
	var lap Lap
	for i := 1; g.has(fmt.Sprintf("s%d_time", i)); i++ {
		at := func(name string) float64 { return g.si(fmt.Sprintf("s%d_%s", i, name)) }
		lap = append(lap, Stretch{q.Duration(at("time")), q.Fraction(at("load")), q.Gauge(at("boost")), q.Acceleration(at("ax")), q.Acceleration(at("ay")), at("grade")})
	}
	return c, lap, int(g.si("laps")), nil
}

func rowBox(g *given) Box {
	return Box{q.Length(g.si("length_x")), q.Length(g.si("width_y")), q.Length(g.si("height"))}
}

func rowPickUp(g *given, inlet bool) PickUp {
	p := PickUp{Forward: q.Length(g.si("x_pickup")), Left: q.Length(g.si("y_pickup"))}
	if inlet {
		p.Inlet = q.Length(g.si("inlet_height"))
	}
	return p
}

func rowTilt(g *given) Tilt {
	return TiltUnder(q.Acceleration(g.si("ax")), q.Acceleration(g.si("ay")), g.si("grade"))
}

var tiltFamilies = []family{
	answered("t18", `box\d_plane`, func(g *given) (float64, error) {
		return value(rowBox(g).Surface(q.Volume(g.si("volume")), rowTilt(g)))
	}, "x_pickup", "y_pickup"),
	answered("t18", `box\d_depth`, func(g *given) (float64, error) {
		return value(rowBox(g).Depth(q.Volume(g.si("volume")), rowTilt(g), rowPickUp(g, false)))
	}),
	answered("t18", `crit\d`, func(g *given) (float64, error) { return sure(rowBox(g).Covering(rowTilt(g), rowPickUp(g, true))) }),
	answered("t18", `wet_floor`, func(g *given) (float64, error) {
		width, height := q.Length(g.si("width_y")), q.Length(g.si("height"))
		s, err := FreeSurface(width, height, height*q.Length(g.si("fill")), SurfaceSlope(q.Acceleration(g.si("ay")), 0))
		return value(s.Wetted(width), err)
	}),
	// Slopes are given as what the surface falls by from the wet corner.
	answered("t18", `tetra`, func(g *given) (float64, error) {
		return value(rowBox(g).Depth(q.Volume(g.si("volume")), Tilt{-g.si("slope_x"), -g.si("slope_y")}, PickUp{}))
	}),
	answered("t18", `cengel_rise`, func(g *given) (float64, error) {
		slope := SurfaceSlope(q.Acceleration(g.si("ax")), q.Acceleration(g.si("g")-q.G)) // with the book's g
		return sure(-FillWithoutSpill(q.Length(g.si("length_x")), 0, slope))
	}),
	answered("t18", `incline_level`, func(g *given) (float64, error) {
		road := g.si("incline")
		t := TiltUnder(q.Acceleration(g.si("ax")/g.si("g")*q.G), 0, math.Tan(road)) // with the book's g
		return math.Atan(-t.Forward) - road, nil
	}),
	answered("t18", `pot_hold`, func(g *given) (float64, error) {
		return value(PotHold(q.Volume(g.si("pot")), q.Volume(g.si("unpumpable")), q.Flow(g.si("lift"))))
	}),
	answered("t18", `pot_spill\d`, func(g *given) (float64, error) {
		return value(PotKeeps(q.Length(g.si("side")), q.Length(g.si("height")), SurfaceSlope(q.Acceleration(g.si("ay")), 0)))
	}),
	answered("t18", `first_mode`, func(g *given) (float64, error) {
		return value(SloshPeriod(q.Length(g.si("width_y")), q.Length(g.si("depth"))))
	}),
}

// rowSeries reads x1, y1, u1, x2, ... as written.
func rowSeries(g *given) []Observed {
	var out []Observed
	for i := 1; g.has(fmt.Sprintf("x%d", i)); i++ {
		o := Observed{X: g.raw(fmt.Sprintf("x%d", i)), Y: g.raw(fmt.Sprintf("y%d", i))}
		if u := fmt.Sprintf("u%d", i); g.has(u) {
			o.U = g.raw(u)
		}
		out = append(out, o)
	}
	return out
}

// fitted answers rows of a fitted line with a number of it.
func fitted(topic, id string, pick func(what string, f StraightLine, seen []Observed) (float64, bool)) family {
	return rows(topic, id, func(r checkRow) ([]float64, error) {
		g := r.given()
		seen := rowSeries(g)
		if g.has("t_ref") {
			for i := range seen {
				seen[i].X -= g.raw("t_ref")
			}
		}
		f, err := FitLine(seen)
		if err != nil || g.err != nil {
			return nil, fmt.Errorf("%v, %v", err, g.err)
		}
		if left := g.unread(); len(left) > 0 {
			return nil, fmt.Errorf("inputs %v are not read", left)
		}
		_, what, _ := strings.Cut(r["id"], "_")
		v, ok := pick(what, f, seen)
		if !ok {
			return nil, fmt.Errorf("nothing of a line is called %q", what)
		}
		return []float64{v}, nil
	})
}

func ofLine(what string, f StraightLine, seen []Observed) (float64, bool) {
	a, ua := f.Intercept()
	total := 0.0
	for _, o := range seen {
		total += (o.Y - f.Mean) * (o.Y - f.Mean)
	}
	v, ok := map[string]float64{
		"b0": a, "y1": a, "a": a, "s0": ua, "u1": ua, "ua": ua, "b1": f.Slope, "y2": f.Slope, "b": f.Slope, "s1": f.SlopeUncertainty(), "u2": f.SlopeUncertainty(), "ub": f.SlopeUncertainty(),
		"cov": f.Covariance(), "r": f.Covariance() / ua / f.SlopeUncertainty(), "rsd": math.Sqrt(f.Scatter), "ssr": f.ChiSquared, "chi2": f.ChiSquared, "r2": 1 - f.ChiSquared/total,
		"b30": f.At(10), "u30": math.Sqrt(f.Variance(10)),
	}[what]
	return v, ok
}

// wearRow fits the tests of a pump and picks what the id asks for.
func wearRow(id string, g *given) (float64, error) {
	tests := rowSeries(g)
	name, what, _ := strings.Cut(id, "_")
	if strings.HasSuffix(what, "_without") {
		out := int(g.raw("visit")) - 1
		tests, what = append(tests[:out:out], tests[out+1:]...), strings.TrimSuffix(what, "_without")
	}
	if what == "en" {
		return Residual(tests, int(g.raw("visit"))-1)
	}
	per := map[string]float64{"km": 1000, "h": 100}[g.unit["x1"]]
	if what == "theil" {
		slope, err := MedianSlope(tests)
		return slope * per, err
	}
	if g.raw("p") != 0.95 {
		return 0, fmt.Errorf("bounds are of 95 %%, not %g", g.raw("p"))
	}
	w, err := FitWear(tests, g.raw("u_common"))
	if err != nil {
		return 0, err
	}
	fresh := g.raw("margin_new")
	level := 1.2
	if g.has("level") {
		level = g.raw("level")
	}
	at, meets := w.Meets(level / fresh)
	switch what {
	case "slope":
		return -w.Line.Slope * per, nil
	case "uslope":
		return w.Line.SlopeUncertainty() * per, nil
	case "chi2":
		return w.Line.ChiSquared, nil
	case "low_now", "low":
		return fresh * w.Low(w.Last()), nil
	case "cross":
		if !meets {
			return 0, fmt.Errorf("%s: does not cross", name)
		}
		return at * map[string]float64{"km": 1000, "h": 3600}[g.unit["x1"]], nil
	case "nocross":
		if meets {
			return 0, fmt.Errorf("%s: crosses at %g", name, at)
		}
		return fresh * w.Low(w.Last()+w.Span()), nil
	}
	return 0, fmt.Errorf("nothing of a pump's wear is called %q", what)
}

var wearFamilies = []family{
	fitted("t19", `(norris|h3|w1|w2)_.*`, ofLine),
	answered("t19", `t95_\d+`, func(g *given) (float64, error) {
		if g.raw("p") != 0.95 {
			return 0, fmt.Errorf("only 95 %%")
		}
		return Student95(int(g.raw("nu")))
	}),
	byID("t19", `ratio(_u)?`, func(id string, g *given) (float64, error) {
		curve, err := NewCurve(rowPumps[g.word("pump")]())
		if err != nil {
			return 0, err
		}
		r, err := FlowRatio(curve.Flow, TimedTest{q.Volume(g.si("volume")), q.Volume(g.si("u_volume")), q.Duration(g.si("time")), q.Duration(g.si("u_time")),
			q.Difference(g.si("p")), q.Difference(g.si("u_p")), q.Voltage(g.si("volts")), q.Voltage(g.si("u_volts"))})
		if id == "ratio_u" {
			return r.U, err
		}
		return r.Value, err
	}),
	byID("t19", `(granite|slate|chalk|gneiss|tuff)_.*`, wearRow),
}

func rowCamPump(g *given) CamPump {
	p := CamPump{Plunger: q.Length(g.si("plunger")), Lift: q.Length(g.si("cam_lift"))}
	if g.has("lobes") {
		p.Lobes, p.CamRatio = int(g.si("lobes")), q.Fraction(g.si("cam_ratio"))
	}
	return p
}

func rowSpeed(g *given) q.EngineSpeed { return q.EngineSpeed(g.si("speed")) }

var camFamilies = []family{
	answered("t20", `stroke`, func(g *given) (float64, error) { return sure(rowCamPump(g).Stroke()) }),
	answered("t20", `geo_\d+`, func(g *given) (float64, error) { return sure(rowCamPump(g).Geometric(rowSpeed(g))) }),
	answered("t20", `eta_v`, func(g *given) (float64, error) {
		return sure(VolumetricEfficiency(q.Gauge(g.si("p_rail")), q.Gauge(g.si("p_in")), g.si("bulk"), q.Fraction(g.si("dead_over_stroke")), q.Fraction(g.si("leak"))))
	}),
	answered("t20", `cap_\d+`, func(g *given) (float64, error) {
		return sure(rowCamPump(g).HighSideMargin(q.Fraction(g.si("eta_v")), rowSpeed(g), q.Flow(g.si("demand"))))
	}),
	answered("t20", `low_flow`, func(g *given) (float64, error) {
		return sure(LowSideNeed(q.Flow(g.si("demand")), q.Flow(g.si("leak_off")), q.Flow(g.si("bleed"))))
	}),
	answered("t20", `low_margin`, func(g *given) (float64, error) {
		return g.si("lift") / float64(LowSideNeed(q.Flow(g.si("demand")), q.Flow(g.si("leak_off")), q.Flow(g.si("bleed")))), nil
	}),
	answered("t20", `peak`, func(g *given) (float64, error) { return sure(rowCamPump(g).PeakIntake(rowSpeed(g))) }),
	answered("t20", `swing_p`, func(g *given) (float64, error) {
		return sure(InletPulsation(q.Fraction(g.si("swing")), q.Volume(g.si("stroke")), Compliance(g.si("compliance"))))
	}),
	answered("t20", `swing_.*`, func(g *given) (float64, error) { return value(IntakeSwing(q.Fraction(g.si("delivery")))) }),
	answered("t20", `need_.*`, func(g *given) (float64, error) {
		p, err := VapourPressure(q.Absolute(g.si("rvp")), q.Temperature(g.si("t")))
		return value(InletNeed(p, q.Difference(g.si("half_pulsation")), q.Difference(g.si("valve_loss")), q.Difference(g.si("reserve"))), err)
	}),
	answered("t20", `vap_margin`, func(g *given) (float64, error) {
		air, err := rowAir(g)
		if err != nil {
			return 0, err
		}
		p, err := VapourPressure(q.Absolute(g.si("rvp")), q.Temperature(g.si("t")))
		return value(InletMargin(q.Gauge(g.si("p_lift")), air.Pressure, q.Difference(g.si("line")), q.Difference(g.si("half_pulsation")), q.Difference(g.si("valve_loss")), p), err)
	}),
	answered("t20", `throttle`, func(g *given) (float64, error) {
		return sure(ThrottleWarming(q.Difference(g.si("p_rail")-g.si("p_in")), rowFuel(g)))
	}),
	answered("t20", `power`, func(g *given) (float64, error) {
		return sure(HydraulicPower(q.Difference(g.si("p_rail")-g.si("p_in")), q.Flow(g.si("flow"))))
	}),
	answered("t20", `valve`, func(g *given) (float64, error) {
		return sure(OrificeLoss(q.Density(g.si("rho")), q.Flow(g.si("peak")), q.Area(g.si("cd_area"))))
	}),
}

// rowBlend mixes constituents whose properties the row gives; what it does not
// give it must not need.
func rowBlend(g *given, ethanol float64) (Blend, error) {
	base, alcohol := Gasoline, Ethanol
	for _, p := range []struct {
		name string
		set  func(float64)
	}{
		{"rho_gasoline", func(v float64) { base.Density = q.Density(v) }}, {"rho_ethanol", func(v float64) { alcohol.Density = q.Density(v) }},
		{"lhv_gasoline", func(v float64) { base.HeatingValue = q.SpecificEnergy(v) }}, {"lhv_ethanol", func(v float64) { alcohol.HeatingValue = q.SpecificEnergy(v) }},
		{"afr_gasoline", func(v float64) { base.Stoichiometric = AirFuelRatio(v) }}, {"afr_ethanol", func(v float64) { alcohol.Stoichiometric = AirFuelRatio(v) }},
	} {
		if g.has(p.name) {
			p.set(g.si(p.name))
		}
	}
	return Mix(base, alcohol, q.Fraction(ethanol))
}

// energyRow answers with a function of two blends: the row's, and the one it is
// held against.
func energyRow(id string, against float64, of func(b, over Blend) q.Fraction) family {
	return answered("t21", id, func(g *given) (float64, error) {
		b, err1 := rowBlend(g, g.si("ethanol"))
		over, err2 := rowBlend(g, against)
		if err1 != nil || err2 != nil {
			return 0, fmt.Errorf("%v, %v", err1, err2)
		}
		return sure(of(b, over))
	})
}

// Heating values per volume: densities of one make them so.
func perVolumeRow(of func(b, over Blend) q.Fraction) func(g *given) (float64, error) {
	return func(g *given) (float64, error) {
		x := 1.0
		if g.has("ethanol") {
			x = g.si("ethanol")
		}
		mix := func(x float64) (Blend, error) {
			return Mix(Constituent{Name: "gasoline", Density: 1, HeatingValue: q.SpecificEnergy(g.si("lhv_gasoline")), Viscosity: 1}, Constituent{Name: "ethanol", Density: 1, HeatingValue: q.SpecificEnergy(g.si("lhv_ethanol")), Viscosity: 1}, q.Fraction(x))
		}
		b, err1 := mix(x)
		over, err2 := mix(0)
		if err1 != nil || err2 != nil {
			return 0, fmt.Errorf("%v, %v", err1, err2)
		}
		return sure(of(b, over))
	}
}

func consumption(g *given) (q.SpecificConsumption, Blend, error) {
	from, err := rowBlend(g, g.si("fuel_measured"))
	if err != nil {
		return 0, Blend{}, err
	}
	to, err := rowBlend(g, g.si("fuel_wanted"))
	return ConsumptionOn(q.SpecificConsumption(g.si("bsfc")), from, to), to, err
}

var energyFamilies = []family{
	energyRow(`E\d+_mass_E0`, 0, MassRatio), energyRow(`E\d+_mass_E10`, 0.10, MassRatio), energyRow(`E\d+_vol_E0`, 0, VolumeRatio), energyRow(`E\d+_vol_E10`, 0.10, VolumeRatio),
	answered("t21", `afdc_vol_E100`, perVolumeRow(VolumeRatio)), answered("t21", `afdc_mass_E100`, perVolumeRow(MassRatio)),
	answered("t21", `afdc_energy_E\d+`, perVolumeRow(func(b, over Blend) q.Fraction { return 1 / VolumeRatio(b, over) })),
	energyRow(`pub_E\d+_(mpg|energy)`, 0, DistanceLost),
	answered("t21", `bsfc_.*`, func(g *given) (float64, error) { b, _, err := consumption(g); return value(b, err) }),
	answered("t21", `vol_E.*`, func(g *given) (float64, error) {
		b, fuel, err := consumption(g)
		return value(VolumeFlow(FuelForPower(q.Power(g.si("power")), b), fuel.Density), err)
	}),
	answered("t21", `vol_wrong`, func(g *given) (float64, error) {
		fuel, err := rowBlend(g, g.si("ethanol"))
		return value(VolumeFlow(FuelForPower(q.Power(g.si("power")), q.SpecificConsumption(g.si("bsfc"))), fuel.Density), err)
	}),
	answered("t21", `eta_.*`, func(g *given) (float64, error) {
		fuel, err := rowBlend(g, g.si("ethanol"))
		return value(FuelConversionEfficiency(q.SpecificConsumption(g.si("bsfc")), fuel.HeatingValue), err)
	}),
	answered("t21", `heat_per_air_.*`, func(g *given) (float64, error) {
		fuel, err := rowBlend(g, g.si("ethanol"))
		return value(HeatPerAir(fuel), err)
	}),
	energyRow(`air_rule_.*`, 0, AirMassRatio),
}

// rowLine reads the pipe of the free-wave rows.
func rowLine(g *given) (WaveLine, q.Density) {
	return WaveLine{Length: q.Length(g.si("length")), Bore: q.Length(g.si("bore")), Wave: q.Speed(g.si("a"))}, q.Density(g.si("rho"))
}

// flowing is a pipe with a flow everywhere, stopped at its end.
func flowing(g *given, reaches int) *FreeWave {
	l, rho := rowLine(g)
	flow := q.Flow(2e-5)
	if g.has("flow") {
		flow = q.Flow(g.si("flow"))
	}
	return NewFreeWave(l, rho, reaches, 0, func(float64) q.Difference { return 0 }, func(float64) q.Flow { return flow })
}

var waveFamilies = []family{
	rows("t16", `moc_\d+`, textbookRow),
	answered("t22", `impedance`, func(g *given) (float64, error) {
		return Impedance(q.Density(g.si("rho")), q.Speed(g.si("a")), q.Length(g.si("bore"))), nil
	}),
	answered("t22", `jouk`, func(g *given) (float64, error) {
		return sure(flowing(g, 40).Next())
	}),
	answered("t22", `jouk_back`, func(g *given) (float64, error) {
		w := flowing(g, 40)
		var p q.Difference
		for range int(math.Round(g.si("time") / float64(w.Step))) {
			p = w.Next()
		}
		return sure(p)
	}),
	answered("t22", `quarter`, func(g *given) (float64, error) {
		return QuarterWave(q.Speed(g.si("a")), q.Length(g.si("length"))), nil
	}),
	answered("t22", `quarter_period`, func(g *given) (float64, error) {
		n := int(g.si("reaches"))
		w := flowing(g, n)
		return crossings(w, 8*n)
	}),
	answered("t22", `energy_keep`, func(g *given) (float64, error) {
		n := int(g.si("reaches"))
		w := flowing(g, n)
		before := w.Energy()
		for range 8 * n {
			w.Next()
		}
		return w.Energy() / before, nil
	}),
	answered("t22", `decay`, func(g *given) (float64, error) {
		l, rho := rowLine(g)
		l.Linear = g.si("resistance")
		w := sine(l, rho, 160, g.si("p0"))
		var p q.Difference
		for range int(math.Round(g.si("time") / float64(w.Step))) {
			p = w.Next()
		}
		exact := g.si("p0") * Ringing(rho, l.Wave, l.Length, l.Bore, l.Linear, q.Duration(g.si("time")))
		if math.Abs(float64(p)/exact-1) > 1e-4 {
			return 0, fmt.Errorf("the scheme gives %g, the exact answer is %g", p, exact)
		}
		return exact, nil
	}),
	answered("t22", `decay_rate`, func(g *given) (float64, error) {
		return WaveDecay(q.Density(g.si("rho")), q.Length(g.si("bore")), g.si("resistance")), nil
	}),
	answered("t22", `helm_.*`, func(g *given) (float64, error) {
		l, rho := rowLine(g)
		return LumpedFrequency(rho, l.Length, l.Bore, g.si("compliance")), nil
	}),
	answered("t22", `tan_.*`, func(g *given) (float64, error) {
		l, rho := rowLine(g)
		return EndFrequency(rho, l.Wave, l.Length, l.Bore, g.si("compliance")), nil
	}),
	answered("t22", `sw_\d+`, func(g *given) (float64, error) {
		v := ValveClosure{Line: WaveLine{Length: q.Length(g.si("length")), Bore: q.Length(g.si("bore")), Wave: q.Speed(g.si("a")), Friction: g.si("f")},
			Reservoir: q.Length(g.si("H_reservoir")), Gravity: g.si("g"), Reaches: int(g.si("reaches"))}
		var areas []float64
		for t := 0; g.has(fmt.Sprintf("CvA_%d", t)); t += 5 {
			areas = append(areas, g.si(fmt.Sprintf("CvA_%d", t)))
		}
		v.CdA = everyFive(areas)
		head, _, _ := v.At(q.Duration(g.si("time")))
		return sure(head)
	}),
	answered("t22", `node_p`, func(g *given) (float64, error) { p, _ := rowNode(g); return sure(p) }),
	answered("t22", `node_q`, func(g *given) (float64, error) { _, f := rowNode(g); return sure(f) }),
	byID("t22", `run\d_.*`, railRow),
}

func rowNode(g *given) (q.Difference, q.Flow) {
	return OpensInto(q.Difference(g.si("p")), g.si("impedance"), q.Flow(g.si("static")), q.Difference(g.si("p_ref")))
}

// everyFive is an area that is linear between values five seconds apart.
func everyFive(areas []float64) func(q.Duration) q.Area {
	return func(t q.Duration) q.Area {
		i := int(t / 5)
		if i >= len(areas)-1 {
			return q.Area(areas[len(areas)-1])
		}
		return q.Area(areas[i] + (areas[i+1]-areas[i])*(float64(t)/5-float64(i)))
	}
}

// crossings is the time between the first two falls through zero.
func crossings(w *FreeWave, steps int) (float64, error) {
	var falls []float64
	last := 0.0
	for i := range steps {
		p := float64(w.Next())
		if last > 0 && p <= 0 {
			falls = append(falls, float64(i))
		}
		last = p
	}
	if len(falls) < 2 {
		return 0, fmt.Errorf("%d falls through zero", len(falls))
	}
	return (falls[1] - falls[0]) * float64(w.Step), nil
}

// sine is a pipe at rest with a quarter wave of pressure along it.
func sine(l WaveLine, rho q.Density, reaches int, peak float64) *FreeWave {
	return NewFreeWave(l, rho, reaches, 0, func(x float64) q.Difference { return q.Difference(peak * math.Sin(math.Pi/2*x)) }, func(float64) q.Flow { return 0 })
}

// textbookRow answers the rows whose case stands in words: one pipe with a
// closing valve, at a time.
func textbookRow(r checkRow) ([]float64, error) {
	t, err := r.input(`t=` + num)
	if err != nil {
		return nil, err
	}
	// The inputs stand in the row's source.
	m := checkRow{"inputs": r["source"]}
	v, err := m.inputsOf(`Hres # m`, `L # m`, `D # m`, `f #`, `a # m/s`, `N #`, `g #`)
	if err != nil {
		return nil, err
	}
	list, _, _ := strings.Cut(strings.SplitN(r["source"], "CVA ", 2)[1], " every 5 s")
	var areas []float64
	for _, a := range strings.Fields(list) {
		areas = append(areas, mustNumber("0"+a))
	}
	c := ValveClosure{Line: WaveLine{Length: q.Length(v[1]), Bore: q.Length(v[2]), Wave: q.Speed(v[4]), Friction: v[3]}, Reservoir: q.Length(v[0]), Gravity: v[6], Reaches: int(v[5]), CdA: everyFive(areas)}
	head, valve, reservoir := c.At(q.Duration(t))
	return []float64{float64(head), float64(valve), float64(reservoir)}, nil
}

func rowRail(g *given) RailWaves {
	r := RailWaves{
		Density: q.Density(g.si("rho")), Speed: q.EngineSpeed(g.si("speed")),
		Rail:   WaveLine{Length: q.Length(g.si("rail")), Bore: q.Length(g.si("bore_rail")), Wave: q.Speed(g.si("a_rail")), Friction: g.si("f")},
		Feed:   WaveLine{Length: q.Length(g.si("feed")), Bore: q.Length(g.si("bore_feed")), Wave: q.Speed(g.si("a_feed")), Friction: g.si("f")},
		Static: q.Flow(g.si("static")), Rated: q.Difference(g.si("p_ref")), Supply: q.Difference(g.si("supply")), Source: g.si("r_source"), Damper: Compliance(g.si("damper")),
		Width: q.Duration(g.si("width")), Ramp: q.Duration(g.si("ramp")),
	}
	for i := 1; g.has(fmt.Sprintf("x%d", i)); i++ {
		r.At = append(r.At, q.Length(g.si(fmt.Sprintf("x%d", i))))
		r.Order = append(r.Order, int(g.si(fmt.Sprintf("fires%d", i))))
	}
	return r
}

// The rows of one run share the answer.
var ranRails = map[string]Pulsation{}

func railRow(id string, g *given) (float64, error) {
	run, what, _ := strings.Cut(id, "_")
	r, steps := rowRail(g), int(g.si("steps"))
	key := fmt.Sprintf("%s %+v %d", run, r, steps)
	p, done := ranRails[key]
	if !done {
		var err error
		if p, err = r.Run(steps, -1e5); err != nil {
			return 0, err
		}
		ranRails[key] = p
	}
	switch what {
	case "min":
		return sure(p.Least)
	case "max":
		return sure(p.Most)
	case "mean":
		return sure(p.Mean)
	case "spread":
		return sure(p.Spread)
	case "ideal":
		return sure(p.Ideal)
	}
	if n, ok := strings.CutPrefix(what, "vol"); ok && n != "" {
		return sure(p.Volumes[int(n[0]-'1')])
	}
	return 0, fmt.Errorf("nothing of a run is called %q", what)
}
