package fuel

import (
	"bytes"
	"encoding/json"
	"math"
	"os/exec"
	"slices"
	"testing"

	q "feedproof/schema/quantity"
)

type object = map[string]any

// wholePlans are 13 cars that between them have every part of a plan.
func wholePlans() map[string]System {
	free := func(s System, change func(*System)) System {
		s.OutletPressure = 0
		change(&s)
		return s
	}
	return map[string]System{
		"turbo four": turboFour(),
		"at 1500 m":  free(turboFour(), func(s *System) { s.Site.Altitude, s.Engine.Power = 1500, 300*q.KW }),
		"wired":      free(turboFour(), func(s *System) { s.Supply.Terminal = 0 }),
		"on E85": free(turboFour(), func(s *System) {
			s.Fuel.EthanolMax, s.Engine.Power, s.Injectors = 0.85, 260*q.KW, injectors(4, 1300, 0.95)
		}),
		"hot, at the wheels":  free(turboFour(), func(s *System) { hotAtTheWheels(s) }),
		"rising rate":         free(turboFour(), func(s *System) { s.Regulator.Ratio, s.Engine.ManifoldMax, s.Engine.Power = 1.5, kPaAbs(1.4), 300*q.KW }),
		"eight, two rails":    free(eight(RailsInSeries), func(s *System) { s.Engine.Idle = &Idle{Fuel: 2 * q.KgPerH, Speed: 800 * q.RPM, Manifold: 40e3} }),
		"natural at 2000 m":   free(swap(), func(s *System) { s.Site.Altitude, s.Tank = 2000, nil }),
		"twins, unlike":       free(twins(), func(s *System) { s.Pumps, s.Engine.Power = []Pump{p2(), p1()}, 450*q.KW }),
		"in series, unlike":   free(turboFour(), inSeries),
		"returnless":          returnless(),
		"surge tank":          free(hillTrack(), func(s *System) { s.Fuel.Temperature = celsius(35) }),
		"carburettor, launch": free(dragCarb(), func(s *System) { s.Return = nil }),
	}
}

func hotAtTheWheels(s *System) {
	s.Fuel.Temperature, s.Fuel.VapourPressure = celsius(50), 62e3
	s.Engine.Basis, s.Engine.DrivelineLoss, s.Engine.Power = Wheel, 0.15, 260*q.KW
}

func inSeries(s *System) {
	low := Pump{Name: "low", Curve: points([4]float64{0.2, 420, 340, 5}, [4]float64{1, 380, 300, 6}, [4]float64{2.5, 280, 210, 8}, [4]float64{4, 160, 80, 9})}
	high := Pump{Name: "high", Curve: points([4]float64{0.5, 400, 330, 7}, [4]float64{2, 365, 300, 9}, [4]float64{4, 300, 235, 12}, [4]float64{6, 225, 145, 15.2})}
	s.Pumps, s.Arrangement, s.Engine.Power = []Pump{low, high}, Series, 300*q.KW
}

// A program of another language, which shares no line with this one, computes
// the same plans from the same inputs: every number to 0.1 %.
func TestPlansComputedOutside(t *testing.T) {
	python, err := exec.LookPath("python3")
	if err != nil {
		t.Fatalf("python3 is not here: .ci/programs.sh installs it: %v", err)
	}
	cars := wholePlans()
	asked, ours := object{}, map[string]map[string]float64{}
	for name, s := range cars {
		asked[name], ours[name] = outsideInput(t, s), numbersOf(t, name, s)
	}
	in, err := json.Marshal(asked)
	if err != nil {
		t.Fatal(err)
	}
	c := exec.Command(python, "-B", "../../testdata/outside/plans.py")
	c.Stdin = bytes.NewReader(in)
	var stderr bytes.Buffer
	c.Stderr = &stderr
	printed, err := c.Output()
	if err != nil {
		t.Fatalf("%v\n%s", err, stderr.String())
	}
	var theirs map[string]map[string]float64
	if err := json.Unmarshal(printed, &theirs); err != nil {
		t.Fatal(err)
	}
	compared := 0
	for name := range cars {
		for number, want := range theirs[name] {
			got, there := ours[name][number]
			if !there {
				t.Errorf("%s: %s is computed outside (%g) and not here", name, number, want)
				continue
			}
			compared++
			if !(math.Abs(got-want) <= 1e-3*math.Abs(want)) {
				t.Errorf("%s: %s = %g, outside %g (%+.2f %%)", name, number, got, want, 100*(got/want-1))
			}
		}
	}
	t.Logf("%d numbers of %d plans compared", compared, len(cars))
	if compared < 150 {
		t.Errorf("only %d numbers compared", compared)
	}
}

// numbersOf takes the numbers of a plan that are compared.
func numbersOf(t *testing.T, name string, s System) map[string]float64 {
	t.Helper()
	r, err := Plan(s)
	if err != nil {
		t.Fatalf("%s: %v", name, err)
	}
	out := map[string]float64{
		"mass": float64(r.Demand.Mass), "demand": float64(r.Demand.Volume), "barometer": float64(r.Barometer), "outlet": float64(r.Pressures.Computed), "flow": float64(r.Pressures.FeedFlow),
		"new": float64(r.Delivery.New), "aged": float64(r.Delivery.Flow), "margin": float64(r.Delivery.Margin), "volts": float64(r.Delivery.Voltage), "current": float64(r.Electrical.Current),
		"lost": float64(r.Electrical.Lost),
	}
	if i := r.Injection; i != nil {
		out["across"], out["static"], out["duty"], out["commanded"] = float64(i.Difference), float64(i.Static), float64(i.Effective), float64(i.Commanded)
	}
	if r.Idle != nil {
		out["idle_return"], out["idle_back"] = float64(r.Idle.Flow), float64(r.Idle.BackPressure)
	}
	if r.Surge != nil {
		out["lift"], out["lasts"] = float64(r.Surge.Margin), float64(r.Surge.Endurance)
	}
	if r.Vapour != nil {
		out["vapour"] = float64(r.Vapour.Pressure)
	}
	return out
}

// outsideInput is a system as the program outside reads it.
func outsideInput(t *testing.T, s System) object {
	t.Helper()
	out := object{
		"altitude": s.Site.Altitude, "manifold": s.Engine.ManifoldMax, "ethanol": s.Fuel.EthanolMax, "temperature": s.Fuel.Temperature, "rvp": s.Fuel.VapourPressure,
		"power": s.Engine.Power, "loss": s.Engine.DrivelineLoss, "bsfc": s.Engine.BSFC, "bsfc_ethanol": s.Engine.BSFCEthanol, "speed": s.Engine.SpeedMax,
		"arrangement": s.Arrangement, "outlet": s.OutletPressure, "acceleration": s.Acceleration, "feed": outsideLine(s.Feed),
		"regulator": object{"kind": s.Regulator.Kind, "base": s.Regulator.Base, "ratio": s.Regulator.Ratio},
		"place":     map[bool]string{true: "after", false: "before"}[s.place() == AfterRail],
		"supply": object{"terminal": s.Supply.Terminal, "source": s.Supply.Source, "area": s.Supply.Area, "feed": s.Supply.Feed, "ground": s.Supply.Ground, "contacts": s.Supply.Contacts,
			"temperature": max(s.Supply.Temperature, Reference)},
		"return": nil, "rails": nil, "suction": nil, "surge": nil, "carburettor": nil, "injectors": nil, "idle": nil,
	}
	var pumps []object
	for _, p := range s.Pumps {
		pumps = append(pumps, outsidePump(p))
	}
	out["pumps"] = pumps
	if s.Return != nil {
		out["return"] = outsideLine(*s.Return)
	}
	if r := s.Rails; r != nil {
		if r.Arrangement != RailsInSeries || s.Injectors.Count%r.Count != 0 {
			t.Fatal("the program outside knows rails in series, equally filled")
		}
		out["rails"] = object{"count": r.Count, "bore": r.Bore, "length": r.Length, "link": outsideLine(r.Link)}
	}
	if u := s.Suction; u != nil {
		out["suction"] = object{"line": outsideLine(u.Line), "level": u.Level, "over": u.OverVented}
	}
	if g := s.Surge; g != nil {
		out["surge"] = object{"lift": outsidePump(g.Lift), "pressure": g.Pressure, "volts": g.Terminal, "volume": g.Volume}
	}
	if c := s.Carburettor; c != nil {
		out["carburettor"] = object{"pressure": c.Pressure}
	}
	if i := s.Injectors; i != nil {
		out["injectors"] = object{"count": i.Count, "flow": i.StaticFlow, "rated": i.RatedDifference, "test": i.TestFluid, "dead": i.DeadTime[0].Time}
	}
	if i := s.Engine.Idle; i != nil {
		out["idle"] = object{"manifold": i.Manifold, "fuel": i.Fuel}
	}
	return out
}

func outsideLine(l Line) object {
	drops := []object{}
	for _, d := range l.Drops {
		drops = append(drops, object{"dp": d.Difference, "q": d.Flow})
	}
	return object{"bore": l.Bore, "length": l.Length, "k": l.K, "rise": l.Rise, "forward": l.Forward, "drops": drops}
}

func outsidePump(p Pump) object {
	var curve []object
	for _, c := range slices.Clone(p.Curve) {
		curve = append(curve, object{"p": c.Pressure, "v": c.Voltage, "q": c.Flow, "i": c.Current})
	}
	return object{"curve": curve, "ageing": p.Ageing}
}
