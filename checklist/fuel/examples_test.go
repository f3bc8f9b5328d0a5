package fuel

import (
	"math"
	"testing"

	q "feedproof/schema/quantity"
)

// The worked examples and their pump curves are invented for regression. They
// show that the planner does the trade's arithmetic, not that it is right.

// printed compares with a figure as printed: half a unit of its last digit.
func printed(t *testing.T, what string, got float64, want float64, decimals int) {
	t.Helper()
	half := 0.5000001 * math.Pow(10, -float64(decimals))
	if !(math.Abs(got-want) <= half) {
		t.Errorf("%s = %.*f, printed %.*f", what, decimals+3, got, decimals, want)
	}
}

// points builds a curve from columns of bar, L/h at 13.5 V, L/h at 12.0 V and A at 13.5 V.
func points(rows ...[4]float64) []CurvePoint {
	var out []CurvePoint
	for _, r := range rows {
		out = append(out,
			CurvePoint{q.Difference(r[0] * q.Bar), 13.5, q.Flow(r[1] * q.LPerH), q.Current(r[3])},
			CurvePoint{q.Difference(r[0] * q.Bar), 12.0, q.Flow(r[2] * q.LPerH), 0})
	}
	return out
}

func p0() Pump {
	return Pump{Name: "P0", Curve: points([4]float64{3, 250, 200, 8}, [4]float64{4, 220, 170, 9.2}, [4]float64{5, 185, 130, 10.4}, [4]float64{6, 140, 80, 11.6})}
}

func p1() Pump {
	return Pump{Name: "P1", Curve: points([4]float64{3, 330, 270, 10.5}, [4]float64{4, 300, 235, 12}, [4]float64{5, 265, 195, 13.6}, [4]float64{6, 225, 145, 15.2})}
}

func p2() Pump {
	return Pump{Name: "P2", Curve: points([4]float64{3, 440, 360, 14}, [4]float64{4, 410, 325, 15.8}, [4]float64{5, 370, 280, 17.6}, [4]float64{6, 320, 225, 19.5}, [4]float64{7, 260, 155, 21.2})}
}

func kPaAbs(gaugeBar float64) q.Absolute { return SeaLevel + q.Absolute(gaugeBar*q.Bar) }

func injectors(n int, ccPerMin, deadMs float64) *Injectors {
	return &Injectors{Count: n, StaticFlow: q.Flow(ccPerMin * q.CCPerMin), RatedDifference: 3 * q.Bar, TestFluid: 684, DeadTime: []DeadTime{{14, q.Duration(deadMs * q.MS)}}}
}

// turboFour is example 1: 2.0 L four-cylinder turbo, 400 kW, E10.
func turboFour() System {
	return System{
		Engine:    Engine{Power: 400 * q.KW, Basis: Crank, BSFC: 0.360 * q.KgPerKWh, BSFCEthanol: 0.10, Lambda: 0.80, SpeedMax: 7200 * q.RPM, ManifoldMax: kPaAbs(1.9)},
		Fuel:      Fuel{EthanolMax: 0.10},
		Regulator: Regulator{Base: 3 * q.Bar, Kind: Referenced},
		Injectors: injectors(4, 1000, 0.95),
		Pumps:     []Pump{p1()},
		Feed: Line{Bore: 8.7 * q.MM, Length: 4.5, K: 8, Rating: 17 * q.Bar,
			Drops: []Drop{{"filter", 245 * q.LPerH, 0.08 * q.Bar}, {"check valve", 245 * q.LPerH, 0.02 * q.Bar}}},
		Return:         &Line{Bore: 8.7 * q.MM, Length: 4.5, K: 8},
		Supply:         Supply{Terminal: 13.2, Source: 13.9, Area: 4 * q.MM2, Feed: 5.5, Ground: 1.5, Contacts: 12 * q.MilliOhm, Temperature: celsius(50)},
		OutletPressure: 5.15 * q.Bar,
	}
}

func plan(t *testing.T, s System) Result {
	t.Helper()
	r, err := Plan(s)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func TestExampleTurboFour(t *testing.T) {
	s := turboFour()
	r := plan(t, s)
	printed(t, "fuel kg/h", float64(r.Demand.Mass)/q.KgPerH, 144.0, 1)
	printed(t, "fuel lb/h", float64(r.Demand.Mass)/q.LbPerH, 317.5, 1)
	printed(t, "fuel L/h", float64(r.Demand.Volume)/q.LPerH, 192.2, 1)
	printed(t, "fuel gph", float64(r.Demand.Volume)/q.GPH, 50.8, 1)
	printed(t, "air kg/h", float64(r.Demand.Air)/q.KgPerH, 1624, 0)
	printed(t, "hp per lb/min", r.Demand.PowerPerAir, 9.0, 1)
	printed(t, "per injector g/min", float64(r.Injection.Need)/q.GPerMin, 600.0, 1)
	printed(t, "static g/min", float64(r.Injection.Static)/q.GPerMin, 716.0, 1)
	printed(t, "effective %", float64(r.Injection.Effective)*100, 83.8, 1)
	printed(t, "cycle ms", float64(r.Injection.Cycle)/q.MS, 16.667, 3)
	printed(t, "commanded %", float64(r.Injection.Commanded)*100, 89.5, 1)
	printed(t, "rail bar", float64(r.Pressures.Rail)/q.Bar, 4.9, 1)
	printed(t, "line losses bar", float64(r.Pressures.Feed.Total)/q.Bar, 0.21, 2)
	printed(t, "outlet bar", float64(r.Pressures.Computed)/q.Bar, 5.11, 2)
	printed(t, "new flow L/h", float64(r.Delivery.New)/q.LPerH, 244.7, 1)
	printed(t, "aged flow L/h", float64(r.Delivery.Flow)/q.LPerH, 232.5, 1)
	printed(t, "margin", float64(r.Delivery.Margin), 1.21, 2)
	printed(t, "A", float64(r.Electrical.Current), 13.84, 2)
	printed(t, "W", float64(r.Electrical.Power), 183, 0)
	printed(t, "hydraulic W", float64(r.Delivery.Power), 35, 0)
	printed(t, "efficiency %", float64(r.Electrical.Efficiency)*100, 19, 0)
	printed(t, "wire mohm", float64(r.Electrical.Resistance)/q.MilliOhm, 45.7, 1)
	printed(t, "lost V", float64(r.Electrical.Lost), 0.63, 2)
	printed(t, "at pump V", float64(r.Electrical.Computed), 13.27, 2)
	printed(t, "fuse low", float64(r.Electrical.FuseLow), 17.3, 1)
	printed(t, "fuse high", float64(r.Electrical.FuseHigh), 22.1, 1)
	if len(r.Electrical.Fuses) != 1 || r.Electrical.Fuses[0] != 20 {
		t.Errorf("fuses %v, printed 20 A", r.Electrical.Fuses)
	}
	printed(t, "return bar", float64(s.Return.Loss(297*q.LPerH, r.Blend).Total)/q.Bar, 0.16, 2)
	if !r.Idle.Holds {
		t.Error("idle: base cannot be held, printed ok")
	}
	for _, c := range []struct {
		volts          q.Voltage
		flow, aged, mg float64
	}{{13.5, 259.0, 246.0, 1.28}, {12.8, 225.6, 214.4, 1.12}, {12.0, 187.5, 178.1, 0.93}} {
		s.Supply.Terminal = c.volts
		r := plan(t, s)
		printed(t, "new flow", float64(r.Delivery.New)/q.LPerH, c.flow, 1)
		printed(t, "aged flow", float64(r.Delivery.Flow)/q.LPerH, c.aged, 1)
		printed(t, "margin", float64(r.Delivery.Margin), c.mg, 2)
	}
	s = turboFour()
	s.Regulator.Base = 3.5 * q.Bar
	s.OutletPressure = 0
	printed(t, "effective at 3.5 bar", float64(plan(t, s).Injection.Effective)*100, 77.6, 1)
	s = turboFour()
	s.Injectors = injectors(4, 1300, 0.95)
	r = plan(t, s)
	printed(t, "1300 static", float64(r.Injection.Static)/q.GPerMin, 930.7, 1)
	printed(t, "1300 effective", float64(r.Injection.Effective)*100, 64.5, 1)
	printed(t, "1300 commanded", float64(r.Injection.Commanded)*100, 70.2, 1)
	s = turboFour()
	s.Supply = Supply{Source: 13.9, Area: 1 * q.MM2, Feed: 5.5, Ground: 2, Contacts: 30 * q.MilliOhm, Temperature: celsius(50)}
	r = plan(t, s)
	printed(t, "thin wire mohm", float64(r.Electrical.Resistance)/q.MilliOhm, 174.6, 1)
	printed(t, "thin wire V lost", float64(r.Electrical.Lost), 2.42, 2)
	if r.Delivery.Margin >= 1 {
		t.Errorf("thin wire margin %.2f, printed far below 1", r.Delivery.Margin)
	}
	s.Supply.Area, s.Supply.Ground, s.Supply.Contacts = 6*q.MM2, 1.5, 12*q.MilliOhm
	printed(t, "6 mm2 V lost", float64(plan(t, s).Electrical.Lost), 0.48, 2)
}

// swap is example 2: 6.2 L naturally aspirated V8, module with vented 4.0 bar.
func swap() System {
	return System{
		Engine:    Engine{Power: 380 * q.KW, Basis: Crank, BSFC: 0.300 * q.KgPerKWh, BSFCEthanol: 0.10, Lambda: 0.88, SpeedMax: 6800 * q.RPM, ManifoldMax: SeaLevel - 2e3},
		Fuel:      Fuel{EthanolMax: 0.10},
		Regulator: Regulator{Base: 4 * q.Bar, Kind: Vented, Place: BeforeRail},
		Injectors: injectors(8, 440, 0.95),
		Pumps:     []Pump{p0()},
		Feed:      Line{Bore: 8.7 * q.MM, Length: 5, K: 10},
		Return:    &Line{Bore: 8.7 * q.MM, Length: 5, K: 8},
		Supply:    Supply{Terminal: 13.2, Source: 13.9, Area: 2.5 * q.MM2, Feed: 4.5, Ground: 1.5, Contacts: 15 * q.MilliOhm, Temperature: celsius(50)},
		Tank:      &Tank{Geometric: 55 * q.Litre, Length: 0.9, Height: 0.22, PickUp: 0.45, Level: 0.5, Cornering: 0.9 * q.G, Reservoir: 1.8 * q.Litre, ReturnsInto: true},

		OutletPressure: 4.35 * q.Bar,
	}
}

func TestExampleSwap(t *testing.T) {
	s := swap()
	r := plan(t, s)
	printed(t, "fuel kg/h", float64(r.Demand.Mass)/q.KgPerH, 114.0, 1)
	printed(t, "fuel lb/h", float64(r.Demand.Mass)/q.LbPerH, 251.3, 1)
	printed(t, "fuel L/h", float64(r.Demand.Volume)/q.LPerH, 152.1, 1)
	printed(t, "fuel gph", float64(r.Demand.Volume)/q.GPH, 40.2, 1)
	printed(t, "air kg/h", float64(r.Demand.Air)/q.KgPerH, 1414, 0)
	printed(t, "hp per lb/min", r.Demand.PowerPerAir, 9.8, 1)
	printed(t, "per injector", float64(r.Injection.Need)/q.GPerMin, 237.5, 1)
	printed(t, "across bar", float64(r.Injection.Difference)/q.Bar, 4.02, 2)
	printed(t, "static g/min", float64(r.Injection.Static)/q.GPerMin, 364.7, 1)
	printed(t, "effective", float64(r.Injection.Effective)*100, 65.1, 1)
	printed(t, "commanded", float64(r.Injection.Commanded)*100, 70.5, 1)
	printed(t, "new flow", float64(r.Delivery.New)/q.LPerH, 197.4, 1)
	printed(t, "aged flow", float64(r.Delivery.Flow)/q.LPerH, 187.5, 1)
	printed(t, "margin", float64(r.Delivery.Margin), 1.23, 2)
	printed(t, "reservoir s", float64(r.Tank.Endurance), 42.6, 1)
	if !r.Tank.Slosh.Covered {
		t.Error("half a tank at 0.9 g: the pick-up is dry, printed wet")
	}
	printed(t, "loop mohm", float64(r.Electrical.Resistance)/q.MilliOhm, 61, 0)
	printed(t, "lost V", float64(r.Electrical.Lost), 0.59, 2)
	printed(t, "A", float64(r.Electrical.Current), 9.6, 1)
	if len(r.Electrical.Fuses) != 1 || r.Electrical.Fuses[0] != 15 {
		t.Errorf("fuses %v, printed 15 A", r.Electrical.Fuses)
	}
	s.Supply.Area = 4 * q.MM2
	printed(t, "4 mm2 V lost", float64(plan(t, s).Electrical.Lost), 0.42, 2)
	s.Supply.Terminal = 12.6
	printed(t, "margin at 12.6 V", float64(plan(t, s).Delivery.Margin), 1.10, 2)
	s.Pumps, s.Supply.Terminal = []Pump{p1()}, 13.2
	r = plan(t, s)
	printed(t, "P1 aged flow", float64(r.Delivery.Flow)/q.LPerH, 260.7, 1)
	printed(t, "P1 margin", float64(r.Delivery.Margin), 1.71, 2)
	s.Supply.Terminal = 12
	printed(t, "P1 margin at 12.0 V", float64(plan(t, s).Delivery.Margin), 1.38, 2)
	s.Tank.Level = 0.25
	if plan(t, s).Tank.Slosh.Covered {
		t.Error("a quarter tank at 0.9 g: the pick-up is wet, printed dry")
	}
	idle := s.Regulator.Across(40e3, SeaLevel)
	printed(t, "idle across bar", float64(idle)/q.Bar, 4.61, 2)
	feed := s.Feed.Loss(300*q.LPerH, r.Blend)
	printed(t, "feed m/s", float64(feed.Velocity), 1.40, 2)
	printed(t, "feed friction bar", float64(feed.Friction)/q.Bar, 0.11, 2)
	printed(t, "feed fittings bar", float64(feed.Minor)/q.Bar, 0.07, 2)
}

// twins is example 3: 3.0 L six-cylinder turbo, 600 kW, E85, staged pumps.
func twins() System {
	return System{
		Engine:      Engine{Power: 600 * q.KW, Basis: Crank, BSFC: 0.530 * q.KgPerKWh, BSFCEthanol: 0.85, Lambda: 0.78, SpeedMax: 7500 * q.RPM, ManifoldMax: kPaAbs(2.4)},
		Fuel:        Fuel{EthanolMax: 0.85},
		Regulator:   Regulator{Base: 3 * q.Bar, Kind: Referenced},
		Injectors:   injectors(6, 1650, 1.0),
		Pumps:       []Pump{p2(), p2()},
		Arrangement: Staged,
		Feed:        Line{Bore: 11.1 * q.MM, Length: 4.5, K: 12, Drops: []Drop{{"filter and check valve", 627 * q.LPerH, 0.05 * q.Bar}}},
		Return:      &Line{Bore: 11.1 * q.MM, Length: 4.5, K: 8},
		Supply:      Supply{Terminal: 13.2, Source: 13.9, Area: 4 * q.MM2, Feed: 4.5, Ground: 1.2, Contacts: 12 * q.MilliOhm, Temperature: celsius(50)},

		OutletPressure: 5.75 * q.Bar,
	}
}

func TestExampleTwins(t *testing.T) {
	s := twins()
	r := plan(t, s)
	printed(t, "fuel kg/h", float64(r.Demand.Mass)/q.KgPerH, 318.0, 1)
	printed(t, "fuel lb/h", float64(r.Demand.Mass)/q.LbPerH, 701, 0)
	printed(t, "fuel L/h", float64(r.Demand.Volume)/q.LPerH, 406.4, 1)
	printed(t, "fuel gph", float64(r.Demand.Volume)/q.GPH, 107.4, 1)
	printed(t, "air kg/h", float64(r.Demand.Air)/q.KgPerH, 2434, 0)
	printed(t, "hp per lb/min", r.Demand.PowerPerAir, 9.0, 1)
	printed(t, "per injector", float64(r.Injection.Need)/q.GPerMin, 883.3, 1)
	printed(t, "static", float64(r.Injection.Static)/q.GPerMin, 1207, 0)
	printed(t, "effective", float64(r.Injection.Effective)*100, 73.2, 1)
	printed(t, "commanded", float64(r.Injection.Commanded)*100, 79.4, 1)
	printed(t, "feed m/s", float64(r.Velocities.Feed), 1.80, 2)
	printed(t, "fittings bar", float64(r.Pressures.Feed.Minor)/q.Bar, 0.152, 3)
	if f := float64(r.Pressures.Feed.Friction) / q.Bar; math.Abs(f/0.145-1) > 0.03 {
		t.Errorf("feed friction %.4f bar, printed 0.145 by another law: more than 3 %% off", f)
	}
	printed(t, "single new L/h", float64(r.Delivery.New)/2/q.LPerH, 313.7, 1)
	printed(t, "A each", float64(r.Electrical.Current), 19.0, 1)
	printed(t, "heat W", float64(r.Electrical.Power), 502, 0)
	for _, c := range []struct {
		volts             q.Voltage
		flow, aged        float64
		single, twin      float64
		supportedOnSingle float64
	}{{13.5, 332.5, 315.9, 0.78, 1.55, 0}, {13.2, 313.7, 298.1, 0.73, 1.47, 440}, {12.5, 270.0, 256.5, 0.63, 1.26, 0}, {12.0, 238.7, 226.8, 0.56, 1.12, 0}} {
		s.Supply.Terminal = c.volts
		r := plan(t, s)
		printed(t, "single new L/h", float64(r.Delivery.New)/2/q.LPerH, c.flow, 1)
		printed(t, "single aged L/h", float64(r.Delivery.Flow)/2/q.LPerH, c.aged, 1)
		printed(t, "single margin", float64(r.Delivery.Single), c.single, 2)
		printed(t, "twin margin", float64(r.Delivery.Margin), c.twin, 2)
		if c.supportedOnSingle > 0 {
			printed(t, "one pump supports kW", float64(r.Delivery.Single)*600, c.supportedOnSingle, 0)
			printed(t, "with 1.2 margin kW", float64(r.Delivery.Single)*600/1.2, 367, 0)
		}
	}
	for area, lost := range map[q.Area]float64{4 * q.MM2: 0.75, 6 * q.MM2: 0.58, 8.4 * q.MM2: 0.48} {
		s.Supply.Area = area
		printed(t, "V lost", float64(plan(t, s).Electrical.Lost), lost, 2)
	}
	printed(t, "fuse low", float64(r.Electrical.FuseLow), 23.8, 1)
	printed(t, "fuse high", float64(r.Electrical.FuseHigh), 30.4, 1)
	if f := r.Electrical.Fuses; len(f) != 2 || f[0] != 25 || f[1] != 30 {
		t.Errorf("fuses %v, printed 25 or 30 A", f)
	}
	e85 := r.Blend
	for litres, perHour := range map[float64]float64{10: 94, 20: 47, 30: 31, 55: 17} {
		printed(t, "K/h", float64(Warming(502, q.Volume(litres*q.Litre), e85, q.Hour)), perHour, 0)
	}
	need := func(x q.Fraction) float64 {
		b, err := EthanolBlend(x)
		if err != nil {
			t.Fatal(err)
		}
		return float64(LambdaShift(e85, b))
	}
	for x, ratio := range map[q.Fraction]float64{0.51: 0.85, 0.60: 0.89, 0.70: 0.93, 0.83: 0.99} {
		printed(t, "volume need against E85", need(x), ratio, 2)
	}
	printed(t, "E98 need", (need(0.98)-1)*100, 7.0, 1)
	printed(t, "E90 need", (need(0.90)-1)*100, 2.6, 1)
}

// dragCarb is example 4: 5.7 L V8 with carburettor, 260 kW.
func dragCarb() System {
	return System{
		Engine:      Engine{Power: 260 * q.KW, Basis: Crank, BSFC: 0.310 * q.KgPerKWh, BSFCEthanol: 0.10, Lambda: 0.87, SpeedMax: 6500 * q.RPM, ManifoldMax: SeaLevel - 3e3},
		Fuel:        Fuel{EthanolMax: 0.10},
		Carburettor: &Carburettor{Pressure: 0.45 * q.Bar, Seats: 2, Seat: 2.8 * q.MM, Bowls: 0.30 * q.Litre},
		Pumps: []Pump{{Name: "by-pass pump", Curve: []CurvePoint{
			{0.3 * q.Bar, 13.5, 340 * q.LPerH, 6}, {0.6 * q.Bar, 13.5, 320 * q.LPerH, 6.5}, {1.2 * q.Bar, 13.5, 280 * q.LPerH, 7}}}},
		Feed:         Line{Bore: 11.1 * q.MM, Length: 5, Rise: 0.4, Forward: 3.2, Drops: []Drop{{"filters", 300 * q.LPerH, 0.05 * q.Bar}}},
		Return:       &Line{Bore: 11.1 * q.MM, Length: 5},
		Supply:       Supply{Terminal: 13.5},
		Acceleration: 1.3 * q.G,
	}
}

func TestExampleCarburettor(t *testing.T) {
	r := plan(t, dragCarb())
	printed(t, "fuel kg/h", float64(r.Demand.Mass)/q.KgPerH, 80.6, 1)
	printed(t, "fuel lb/h", float64(r.Demand.Mass)/q.LbPerH, 177.7, 1)
	printed(t, "fuel L/h", float64(r.Demand.Volume)/q.LPerH, 107.6, 1)
	printed(t, "fuel gph", float64(r.Demand.Volume)/q.GPH, 28.4, 1)
	printed(t, "air kg/h", float64(r.Demand.Air)/q.KgPerH, 989, 0)
	printed(t, "hp per lb/min", r.Demand.PowerPerAir, 9.6, 1)
	printed(t, "launch bar", float64(r.Pressures.Acceleration)/q.Bar, 0.306, 3)
	printed(t, "launch psi", float64(r.Pressures.Acceleration)/q.PSI, 4.4, 1)
	printed(t, "height bar", float64(r.Pressures.Feed.Height)/q.Bar, 0.029, 3)
	printed(t, "outlet bar", float64(r.Pressures.Computed)/q.Bar, 0.87, 2)
	printed(t, "reserve s", float64(r.Carburetted.Reserve), 4.0, 1)
	printed(t, "seat flow L/h", float64(r.Carburetted.SeatFlow)/q.LPerH, 301, 0)
	printed(t, "seat margin", float64(r.Carburetted.SeatMargin), 2.8, 1)
	printed(t, "left at launch psi", float64(r.Carburetted.AtLaunch)/q.PSI, 2.1, 1)
	printed(t, "unseat N", SeatForce(2.8*q.MM, 0.45*q.Bar), 0.277, 3)
	printed(t, "unseat N at 3 bar", SeatForce(2.8*q.MM, 3*q.Bar), 1.85, 2)
}

// flexThree is example 5: 1.0 L three-cylinder turbo flex, returnless 4.0 bar.
// The example leaves out what the line takes from the injectors: its bore is wide.
func flexThree() System {
	return System{
		Engine: Engine{Power: 110 * q.KW, Basis: Crank, BSFC: 0.500 * q.KgPerKWh, BSFCEthanol: 0.85, Lambda: 0.85, SpeedMax: 6500 * q.RPM, ManifoldMax: kPaAbs(1.3),
			Idle: &Idle{Fuel: 0.5 * q.KgPerH, Speed: 850 * q.RPM, Manifold: SeaLevel - 65e3}},
		Fuel:      Fuel{EthanolMax: 0.85, EthanolMin: 0.10},
		Regulator: Regulator{Base: 4 * q.Bar, Kind: Fixed},
		Injectors: injectors(3, 550, 1.1),
		Pumps:     []Pump{p0()},
		Feed:      Line{Bore: 30 * q.MM, Length: 3, K: 4},
		Supply:    Supply{Terminal: 13.2},

		OutletPressure: 4.25 * q.Bar,
	}
}

func TestExampleFlex(t *testing.T) {
	s := flexThree()
	r := plan(t, s)
	printed(t, "fuel kg/h", float64(r.Demand.Mass)/q.KgPerH, 55.0, 1)
	printed(t, "fuel L/h", float64(r.Demand.Volume)/q.LPerH, 70.3, 1)
	printed(t, "fuel gph", float64(r.Demand.Volume)/q.GPH, 18.6, 1)
	printed(t, "across bar", float64(r.Injection.Difference)/q.Bar, 2.7, 1)
	printed(t, "need g/min", float64(r.Injection.Need)/q.GPerMin, 305.6, 1)
	printed(t, "static g/min", float64(r.Injection.Static)/q.GPerMin, 381.7, 1)
	printed(t, "effective", float64(r.Injection.Effective)*100, 80.05, 2)
	printed(t, "cycle ms", float64(r.Injection.Cycle)/q.MS, 18.46, 2)
	printed(t, "commanded", float64(r.Injection.Commanded)*100, 86.0, 1)
	printed(t, "new flow", float64(r.Delivery.New)/q.LPerH, 201.0, 1)
	printed(t, "aged flow", float64(r.Delivery.Flow)/q.LPerH, 190.9, 1)
	printed(t, "margin", float64(r.Delivery.Margin), 2.7, 1)
	s.Injectors = injectors(3, 270, 1.1)
	r = plan(t, s)
	printed(t, "original static", float64(r.Injection.Static)/q.GPerMin, 187.4, 1)
	printed(t, "original effective", float64(r.Injection.Effective)*100, 163, 0)
	s.Fuel.EthanolMax, s.Engine.BSFC, s.Engine.BSFCEthanol = 0.10, 0.350*q.KgPerKWh, 0.10
	r = plan(t, s)
	printed(t, "E10 kg/h", float64(r.Demand.Mass)/q.KgPerH, 38.5, 1)
	printed(t, "E10 L/h", float64(r.Demand.Volume)/q.LPerH, 51.4, 1)
	printed(t, "E10 need", float64(r.Injection.Need)/q.GPerMin, 213.9, 1)
	printed(t, "E10 static", float64(r.Injection.Static)/q.GPerMin, 183.4, 1)
	printed(t, "E10 effective", float64(r.Injection.Effective)*100, 117, 0)
	s.Injectors = injectors(3, 550, 1.1)
	idle := plan(t, s).Injection.Idle
	printed(t, "idle effective ms", float64(idle.Effective)/q.MS, 0.80, 2)
	printed(t, "idle commanded ms", float64(idle.Commanded)/q.MS, 1.90, 2)
	if !idle.Enough {
		t.Error("idle pulse: below the smallest, printed acceptable")
	}
	s = flexThree()
	s.Regulator.Kind, s.OutletPressure = Referenced, 5.5*q.Bar
	r = plan(t, s)
	printed(t, "referenced static", float64(r.Injection.Static)/q.GPerMin, 464.6, 1)
	printed(t, "referenced effective", float64(r.Injection.Effective)*100, 65.8, 1)
	printed(t, "referenced commanded", float64(r.Injection.Commanded)*100, 71.7, 1)
	printed(t, "referenced rail", float64(r.Pressures.Rail)/q.Bar, 5.3, 1)
	printed(t, "referenced aged flow", float64(r.Delivery.Flow)/q.LPerH, 143.5, 1)
	printed(t, "referenced margin", float64(r.Delivery.Margin), 2.04, 2)
}

// hillTrack is example 6: 2.5 L five-cylinder turbo with surge tank at 2200 m.
func hillTrack() System {
	lift := Pump{Name: "lift pump", Curve: []CurvePoint{
		{0.2 * q.Bar, 13, 271 * q.LPerH, 4}, {0.4 * q.Bar, 13, 263.33 * q.LPerH, 4.2}, {0.8 * q.Bar, 13, 240 * q.LPerH, 4.6}}}
	return System{
		Engine:         Engine{Power: 330 * q.KW, Basis: Crank, BSFC: 0.370 * q.KgPerKWh, BSFCEthanol: 0.10, Lambda: 0.80, SpeedMax: 7000 * q.RPM, ManifoldMax: 247.5e3},
		Fuel:           Fuel{EthanolMax: 0.10, VapourPressure: 62e3},
		Site:           Site{Altitude: 2200},
		Regulator:      Regulator{Base: 3 * q.Bar, Kind: Referenced},
		Injectors:      injectors(5, 950, 0.95),
		Pumps:          []Pump{p1()},
		Feed:           Line{Bore: 8.7 * q.MM, Length: 3, K: 8, Drops: []Drop{{"filter and check valve", 251 * q.LPerH, 0.15 * q.Bar}}},
		Return:         &Line{Bore: 8.7 * q.MM, Length: 3, K: 8},
		Supply:         Supply{Terminal: 13.2},
		Suction:        &Suction{Line: Line{Bore: 11.1 * q.MM, Length: 1.2, K: 6}},
		Surge:          &Surge{Volume: 2 * q.Litre, Lift: lift, Pressure: 0.4 * q.Bar, Terminal: 13.0, Dry: 6, ReturnEnds: IntoSurge},
		OutletPressure: 5.0 * q.Bar,
	}
}

func TestExampleHillTrack(t *testing.T) {
	s := hillTrack()
	r := plan(t, s)
	printed(t, "fuel kg/h", float64(r.Demand.Mass)/q.KgPerH, 122.1, 1)
	printed(t, "fuel L/h", float64(r.Demand.Volume)/q.LPerH, 162.9, 1)
	printed(t, "fuel gph", float64(r.Demand.Volume)/q.GPH, 43.0, 1)
	printed(t, "air kg/h", float64(r.Demand.Air)/q.KgPerH, 1377, 0)
	printed(t, "hp per lb/min", r.Demand.PowerPerAir, 8.7, 1)
	printed(t, "barometer kPa", float64(r.Barometer)/q.KPa, 77.5, 1)
	printed(t, "barometer psi", float64(r.Barometer)/q.PSI, 11.25, 2)
	printed(t, "boost bar", float64(r.Boost)/q.Bar, 1.7, 1)
	printed(t, "boost at sea level bar", float64(s.Engine.ManifoldMax-SeaLevel)/q.Bar, 1.46, 2)
	printed(t, "static", float64(r.Injection.Static)/q.GPerMin, 680.2, 1)
	printed(t, "need", float64(r.Injection.Need)/q.GPerMin, 407.0, 1)
	printed(t, "effective", float64(r.Injection.Effective)*100, 59.8, 1)
	printed(t, "commanded", float64(r.Injection.Commanded)*100, 65.4, 1)
	printed(t, "lift aged", float64(r.Surge.Lift)/q.LPerH, 250.2, 1)
	printed(t, "lift margin", float64(r.Surge.Margin), 1.54, 2)
	dry := s // the example leaves out what suction takes
	dry.Suction = nil
	main := plan(t, dry).Delivery
	printed(t, "main new", float64(main.New)/q.LPerH, 251.0, 1)
	printed(t, "main aged", float64(main.Flow)/q.LPerH, 238.4, 1)
	printed(t, "main margin", float64(main.Margin), 1.46, 2)
	printed(t, "surge s", float64(r.Surge.Endurance), 44.2, 1)
	printed(t, "corner uses L", float64(r.Surge.Used)/q.Litre, 0.272, 3)
	printed(t, "refill L/min", float64(r.Surge.Refill)/q.LPerMin, 1.45, 1)
	printed(t, "recovery s", float64(r.Surge.Recovery), 11.2, 1)
	suction := s.Suction.Line.Loss(262*q.LPerH, r.Blend)
	printed(t, "suction m/s", float64(suction.Velocity), 0.75, 2)
	printed(t, "suction kPa", float64(suction.Total)/q.KPa, 1.9, 1)
	for rvp, limit := range map[q.Absolute]float64{62e3: 40.9, 48e3: 49.4, 90e3: 28} {
		s.Fuel.VapourPressure = rvp
		decimals := 1
		if rvp == 90e3 {
			decimals = 0
		}
		printed(t, "boiling limit degC", float64(plan(t, s).Vapour.Limit)-273.15, limit, decimals)
	}
	s.Fuel.VapourPressure, s.Suction.OverVented = 62e3, 0.3*q.Bar
	printed(t, "with relief degC", float64(plan(t, s).Vapour.Limit)-273.15, 53, 0)
}

func TestExampleBoostRaised(t *testing.T) {
	for _, c := range []struct {
		kw, boost, demand, outlet, aged, margin, effective, commanded, withP1 float64
	}{
		{300, 1.2, 144.1, 4.45, 184.1, 1.28, 83.8, 89.3, 1.79},
		{360, 1.7, 172.9, 4.95, 167.0, 0.97, 100.6, 106.1, 1.39},
	} {
		s := turboFour()
		s.Engine.Power, s.Engine.SpeedMax, s.Engine.ManifoldMax = q.Power(c.kw*q.KW), 7000*q.RPM, kPaAbs(c.boost)
		s.Injectors, s.Pumps, s.OutletPressure = injectors(4, 750, 0.95), []Pump{p0()}, q.Gauge(c.outlet*q.Bar)
		r := plan(t, s)
		printed(t, "demand", float64(r.Demand.Volume)/q.LPerH, c.demand, 1)
		printed(t, "aged flow", float64(r.Delivery.Flow)/q.LPerH, c.aged, 1)
		printed(t, "margin", float64(r.Delivery.Margin), c.margin, 2)
		printed(t, "effective", float64(r.Injection.Effective)*100, c.effective, 1)
		printed(t, "commanded", float64(r.Injection.Commanded)*100, c.commanded, 1)
		s.Pumps = []Pump{p1()}
		printed(t, "margin with P1", float64(plan(t, s).Delivery.Margin), c.withP1, 2)
	}
}
