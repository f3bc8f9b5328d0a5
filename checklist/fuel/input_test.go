package fuel

import (
	"strings"
	"testing"

	q "feedproof/schema/quantity"
)

// TestBadInput: each says what is wrong and where.
func TestBadInput(t *testing.T) {
	curve := func(change func([]CurvePoint) []CurvePoint) func(*System) {
		return func(s *System) { s.Pumps[0].Curve = change(s.Pumps[0].Curve) }
	}
	for name, c := range map[string]struct {
		spoil func(*System)
		say   []string
	}{
		"no pump":               {func(s *System) { s.Pumps = nil }, []string{"pumps: none fitted"}},
		"no points":             {curve(func([]CurvePoint) []CurvePoint { return nil }), []string{"P1: the curve has no points"}},
		"columns swapped":       {curve(swapColumns), []string{"P1 curve at 13.50 V", "flow rises from", "each other's column?"}},
		"two points only":       {curve(func(p []CurvePoint) []CurvePoint { return p[:4] }), []string{"P1 curve at 12.00 V: 2 points, at least three"}},
		"duplicate points":      {curve(func(p []CurvePoint) []CurvePoint { return append(p, p[0]) }), []string{"P1 curve at 3.00 bar and 13.50 V", "twice"}},
		"voltages swapped":      {curve(swapVolts), []string{"P1 curve at 3.00 bar: more flow at 12.00 V"}},
		"voltage outside":       {func(s *System) { s.Supply.Terminal = 9 }, []string{"P1 terminal voltage", "9.00 V is outside 10.50 V to 15.00 V"}},
		"pressure outside":      {func(s *System) { s.OutletPressure = 8 * q.Bar }, []string{"P1 at 13.20 V", "8.00 bar is outside 3.00 bar to 6.00 bar"}},
		"impossible efficiency": {curve(func(p []CurvePoint) []CurvePoint { p[0].Flow *= 4; return p }), []string{"P1 curve at 3.00 bar and 13.50 V", "efficiency of 78 %, more than 45 %"}},
		"ethanol 850":           {func(s *System) { s.Fuel.EthanolMax = 8.5 }, []string{"fuel ethanol content: 850.0 % is outside 0.0 % to 100.0 %"}},
		"ethanol the wrong way": {func(s *System) { s.Fuel.EthanolMin = 0.5 }, []string{"least ethanol content 50.0 % is more than the most, 10.0 %"}},
		"lb/h without a fluid": {func(s *System) {
			s.Injectors.StaticFlow, s.Injectors.StaticMass, s.Injectors.TestFluid = 0, 95*q.LbPerH, 0
		}, []string{"injectors: 95.0 lb/h", "test fluid"}},
		"two ratings":             {func(s *System) { s.Injectors.StaticMass = 95 * q.LbPerH }, []string{"injectors: give the static flow by volume or by mass"}},
		"no injectors":            {func(s *System) { s.Injectors.Count = 0 }, []string{"injectors: 0 fitted"}},
		"no dead time":            {func(s *System) { s.Injectors.DeadTime = nil }, []string{"injectors: no dead time"}},
		"negative length":         {func(s *System) { s.Feed.Length = -1 }, []string{"feed line length: -1000.0 mm is outside 0.0 mm"}},
		"negative return":         {func(s *System) { s.Return.Length = -1 }, []string{"return line length"}},
		"negative wire":           {func(s *System) { s.Supply.Feed = -1 }, []string{"pump feed wire length: -1000.0 mm is negative"}},
		"bore in metres":          {func(s *System) { s.Feed.Bore = 8.7 }, []string{"feed line bore: 8700.0 mm is outside"}},
		"regulator too small":     {func(s *System) { s.Regulator.Rating = 2 * q.Bar }, []string{"regulator: rated to 2.00 bar, under the base pressure of 3.00 bar"}},
		"regulator kind":          {func(s *System) { s.Regulator.Kind = "" }, []string{`regulator: kind "" is not referenced, vented or fixed`}},
		"boost over base":         {func(s *System) { s.Regulator.Kind = Vented; s.Engine.ManifoldMax = 450e3 }, []string{"regulator: 3.00 bar at the rail", "no pressure across the injectors"}},
		"outlet under need":       {func(s *System) { s.OutletPressure = 4 * q.Bar }, []string{"planned outlet pressure: 4.00 bar is less than"}},
		"no voltage":              {func(s *System) { s.Supply = Supply{} }, []string{"supply: give the voltage at the pump, or"}},
		"no power":                {func(s *System) { s.Engine.Power = 0 }, []string{"engine power: 0.0 kW must be more than zero"}},
		"no basis":                {func(s *System) { s.Engine.Basis = "" }, []string{"neither crank nor wheel"}},
		"consumption in lb":       {func(s *System) { s.Engine.BSFC = 0.6 / 3.6e6 * 10 }, []string{"BSFC: 6.000 kg/kWh is outside"}},
		"gauge taken as absolute": {func(s *System) { s.Engine.ManifoldMax = 1.9e3 }, []string{"manifold pressure"}},
		"both systems":            {func(s *System) { s.Carburettor = &Carburettor{} }, []string{"injectors or a carburettor, one of the two"}},
		"far too high":            {func(s *System) { s.Site.Altitude = 20000 }, []string{"altitude"}},
		"pumps arranged":          {func(s *System) { s.Arrangement = "stacked" }, []string{`arrangement "stacked" is not`}},
		"too hot":                 {func(s *System) { s.Fuel.Temperature = celsius(120) }, []string{"fuel temperature: 120.0 degC is outside"}},
	} {
		t.Run(name, func(t *testing.T) {
			s := turboFour()
			s.Pumps = []Pump{p1()}
			c.spoil(&s)
			_, err := Plan(s)
			if err == nil {
				t.Fatal("no error")
			}
			for _, say := range c.say {
				if !strings.Contains(err.Error(), say) {
					t.Errorf("%q does not say %q", err, say)
				}
			}
		})
	}
}

func swapColumns(points []CurvePoint) []CurvePoint {
	var out []CurvePoint
	for _, p := range points {
		if p.Voltage == 13.5 {
			// the flow column read as pressure and the other way round, in the file's units
			out = append(out, CurvePoint{q.Difference(float64(p.Flow) / q.LPerH / 100 * q.Bar), p.Voltage, q.Flow(float64(p.Pressure) / q.Bar * 50 * q.LPerH), 0})
		}
	}
	for i := range out {
		out[i].Pressure = q.Difference(3+float64(i)) * q.Bar
	}
	return out
}

func swapVolts(points []CurvePoint) []CurvePoint {
	for i := range points {
		points[i].Voltage, points[i].Current = 25.5-points[i].Voltage, 0
	}
	return points
}

// No input makes a plan panic or give a number that is not one.
func TestAnyInputIsAnswered(t *testing.T) {
	extremes := []float64{-1, 0, 1e-12, 1, 1e12}
	planned, refused := 0, 0
	for _, i := range inputs {
		for _, x := range extremes {
			for name, s := range samples() {
				s := s.clone()
				if _, there := i.get(&s); !there {
					continue
				}
				i.set(&s, x)
				r, err := Plan(s)
				if err != nil {
					refused++
					continue
				}
				planned++
				if r.Delivery.Margin != r.Delivery.Margin || r.Demand.Volume <= 0 {
					t.Errorf("%s with %s %g: margin %v of %v", name, i.name, x, r.Delivery.Margin, r.Demand.Volume)
				}
			}
		}
	}
	if planned == 0 || refused == 0 {
		t.Errorf("%d planned, %d refused", planned, refused)
	}
}
