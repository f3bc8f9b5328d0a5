package fuel

import (
	"fmt"
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"

	q "feedproof/schema/quantity"
)

// worse is an input of a plan that can be made worse: set goes from 0, as in the
// sample, to 1. It may better the items in but, each for the reason said.
type worse struct {
	name string
	set  func(s *System, x float64)
	but  []string
}

// What gets better when less fuel goes round: the same lines at less flow.
var (
	roundAgain = []string{"injector opening pressure", "suction velocity", "lift pump", "surge tank in a dry spell", "reservoir", "feed line velocity"}
	atReturn   = append([]string{"return at idle"}, roundAgain...)
	lessRound  = append([]string{ItemRelief, ItemHose, "voltage lost", "regulator rating"}, atReturn...)
)

// What gets better when the injectors work against less, or give less.
var atTheInjector = []string{ItemDuty, "injector commanded duty", "idle pulse", "injector opening pressure"}

func grown[Q ~float64](p *Q, x, most float64) { *p *= Q(1 + x*(most-1)) }
func shrunk[Q ~float64](p *Q, x, least float64) {
	*p *= Q(1 - x*(1-least))
}

var worses = []worse{
	{"more power", func(s *System, x float64) { grown(&s.Engine.Power, x, 1.5) }, []string{ItemRelief, ItemHose, "voltage lost", "injector opening pressure"}}, // less passes the rest of the rail
	{"more loss in the driveline", func(s *System, x float64) { s.Engine.Basis, s.Engine.DrivelineLoss = Wheel, q.Fraction(0.3*x) }, []string{ItemRelief, ItemHose, "voltage lost", "injector opening pressure"}},
	{"more consumption", func(s *System, x float64) { grown(&s.Engine.BSFC, x, 1.4) }, []string{ItemRelief, ItemHose, "voltage lost", "injector opening pressure"}},
	{"consumption of a fuel with less ethanol", func(s *System, x float64) { s.Engine.BSFCEthanol = q.Fraction(1 - x) }, []string{ItemRelief, ItemHose, "voltage lost", "injector opening pressure"}},
	{"more engine speed", func(s *System, x float64) { grown(&s.Engine.SpeedMax, x, 1.5) }, nil},
	{"more manifold pressure", func(s *System, x float64) { grown(&s.Engine.ManifoldMax, x, 1.15) }, atReturn},
	{"more ethanol", func(s *System, x float64) { s.Fuel.EthanolMax += q.Fraction(0.9 * x) }, append([]string{"vapour", ItemRelief, ItemHose, "voltage lost"}, roundAgain...)}, // heavier and thicker: less goes round
	{"higher", func(s *System, x float64) { s.Site.Altitude = q.Length(3000 * x) }, atReturn},
	{"hotter fuel", func(s *System, x float64) { s.Fuel.Temperature = celsius(21 + 45*x) }, []string{"return at idle", "suction velocity", "voltage lost", ItemRelief, ItemHose, "feed line velocity", "surge tank in a dry spell", "idle pulse"}},
	{"more vapour pressure", func(s *System, x float64) { grown(&s.Fuel.VapourPressure, x, 1.6) }, nil},
	{"more base pressure", func(s *System, x float64) { grown(&s.Regulator.Base, x, 1.1) }, slices.Concat(atTheInjector, atReturn)},
	{"less base pressure", func(s *System, x float64) { shrunk(&s.Regulator.Base, x, 0.9) }, append([]string{ItemPump, "pressure across the injectors", "idle pulse", "injector opening pressure", "voltage lost"}, ItemRelief, ItemHose, "regulator rating")},
	{"smaller injectors", func(s *System, x float64) { shrunk(&s.Injectors.StaticFlow, x, 0.5) }, []string{"idle pulse"}},
	{"slower injectors", func(s *System, x float64) { grown(&s.Injectors.DeadTime[0].Time, x, 2) }, nil},
	{"injectors further apart", func(s *System, x float64) { s.Injectors.Spread = q.Fraction(0.1 * x) }, nil},
	{"injectors that open less", func(s *System, x float64) { shrunk(&s.Injectors.OpensUpTo, x, 0.5) }, nil},
	{"weaker pump", func(s *System, x float64) { scaleFlow(&s.Pumps[0], 1-0.4*x) }, lessRound},
	{"older pump", func(s *System, x float64) { s.Pumps[0].Ageing = q.Fraction(0.95 - 0.4*x) }, nil},
	{"lower relief", func(s *System, x float64) { shrunk(&s.Pumps[0].Relief, x, 0.6) }, nil},
	{"fewer volts", func(s *System, x float64) { s.Supply.Terminal -= q.Voltage(2 * x) }, lessRound},
	{"narrower feed", func(s *System, x float64) { shrunk(&s.Feed.Bore, x, 0.7) }, []string{"injector opening pressure", "return at idle", "suction velocity", "lift pump", "surge tank in a dry spell", "reservoir"}},
	{"longer feed", func(s *System, x float64) { s.Feed.Length += q.Length(4 * x) }, atReturn},
	{"more fittings", func(s *System, x float64) { s.Feed.K += 20 * x }, atReturn},
	{"dirtier filter", func(s *System, x float64) { s.Feed.Drops[0].Difference += q.Difference(0.4e5 * x) }, atReturn},
	{"higher rail", func(s *System, x float64) { s.Feed.Rise += q.Length(2 * x) }, atReturn},
	{"harder launch", func(s *System, x float64) { s.Feed.Forward, s.Acceleration = 3, q.Acceleration(1.5*x*q.G) }, atReturn},
	{"hose that holds less", func(s *System, x float64) { shrunk(&s.Feed.Rating, x, 0.3) }, nil},
	{"narrower return", func(s *System, x float64) { shrunk(&s.Return.Bore, x, 0.6) }, roundAgain},
	{"longer return", func(s *System, x float64) { s.Return.Length += q.Length(5 * x) }, roundAgain},
	{"narrower rail", func(s *System, x float64) { shrunk(&s.Rails.Bore, x, 0.6) }, append([]string{ItemDuty, "injector commanded duty"}, atReturn...)},
	{"longer link", func(s *System, x float64) { s.Rails.Link.Length += q.Length(x) }, append([]string{ItemDuty, "injector commanded duty"}, atReturn...)},
	{"regulator that holds less", func(s *System, x float64) { shrunk(&s.Regulator.Rating, x, 0.6) }, nil},
	{"narrower suction", func(s *System, x float64) { shrunk(&s.Suction.Line.Bore, x, 0.7) }, []string{"injector opening pressure", "return at idle", "lift pump", "surge tank in a dry spell", "reservoir", "feed line velocity", ItemRelief, ItemHose}},
	{"longer suction", func(s *System, x float64) { s.Suction.Line.Length += q.Length(3 * x) }, append([]string{ItemRelief, ItemHose}, atReturn...)},
	{"pump higher over the fuel", func(s *System, x float64) { s.Suction.Level -= q.Length(x) }, append([]string{ItemRelief, ItemHose}, atReturn...)},
	{"less over the fuel", func(s *System, x float64) { s.Suction.OverVented = q.Difference(0.2e5 * (1 - x)) }, append([]string{ItemRelief, ItemHose}, atReturn...)},
	{"smaller surge tank", func(s *System, x float64) { shrunk(&s.Surge.Volume, x, 0.1) }, nil},
	{"weaker lift pump", func(s *System, x float64) { scaleFlow(&s.Surge.Lift, 1-0.5*x) }, nil},
	{"lift pump against more", func(s *System, x float64) { s.Surge.Pressure += q.Difference(0.35e5 * x) }, nil},
	{"longer dry spell", func(s *System, x float64) { s.Surge.Dry += q.Duration(60 * x) }, nil},
	{"return that ends elsewhere", func(s *System, x float64) {
		s.Surge.ReturnEnds = map[bool]Destination{true: IntoTank, false: IntoSurge}[x > 0.5]
	}, nil},
	{"smaller reservoir", func(s *System, x float64) { shrunk(&s.Tank.Reservoir, x, 0.05) }, nil},
	{"higher outlet pressure asked for", func(s *System, x float64) { s.OutletPressure = q.Gauge((5 + x) * q.Bar) }, nil},
}

func scaleFlow(p *Pump, times float64) {
	p.Curve = slices.Clone(p.Curve)
	for i := range p.Curve {
		p.Curve[i].Flow *= q.Flow(times)
	}
}

// whole is a car that has everything a plan can have.
func whole() System {
	s := hillTrack()
	s.OutletPressure, s.Site.Altitude = 0, 0
	s.Engine.ManifoldMax = kPaAbs(1.1)
	s.Engine.Idle = &Idle{Fuel: 2 * q.KgPerH, Speed: 900 * q.RPM, Manifold: 36e3}
	s.Fuel.Temperature, s.Fuel.VapourPressure = celsius(21), 50e3
	s.Pumps[0].Relief, s.Feed.Rating, s.Regulator.Rating = 7*q.Bar, 12*q.Bar, 6*q.Bar
	s.Injectors.OpensUpTo = 6 * q.Bar
	s.Rails = &Rails{Count: 2, Arrangement: RailsInSeries, Bore: 12 * q.MM, Length: 0.4, Link: Line{Bore: 8.7 * q.MM, Length: 0.3, K: 2}}
	s.Tank = &Tank{Geometric: 60 * q.Litre, Level: 0.3, Reservoir: 1.5 * q.Litre}
	s.Supply.Source = 13.9
	return s
}

// judged has the headroom of every item, over the size of its limit.
type judged map[string]float64

func judgedOf(s System) (judged, error) {
	r, err := Plan(s)
	if err != nil {
		return nil, err
	}
	out, c := judged{}, PlanningCriteria(s)
	for _, i := range slices.Concat(rising, steady) {
		if v, there := i.value(s, r); there {
			limit := i.limit(s, r, c)
			out[i.name] = i.headroom(v, limit) / math.Max(math.Abs(limit), 1e-3)
		}
	}
	return out, nil
}

// notBetter says what a worse input made better; empty when nothing.
func notBetter(w worse, before, after judged) string {
	for name, room := range before {
		now, there := after[name]
		if !slices.Contains(w.but, name) && (!there || now > room+1e-4) {
			return fmt.Sprintf("%s: room %.6f, then %.6f (there: %v)", name, room, now, there)
		}
	}
	return ""
}

// Each input alone, step by step, from a car that has everything: nothing but
// what is listed gets better, and a plan that cannot be made never comes back.
func TestWorseInputNeverBetter(t *testing.T) {
	for _, w := range worses {
		t.Run(w.name, func(t *testing.T) {
			moved := false
			var last judged
			gone := false
			for i := range 9 {
				s := whole().clone()
				w.set(&s, float64(i)/8)
				now, err := judgedOf(s)
				switch {
				case err != nil:
					gone = true
				case gone:
					t.Fatalf("at %d of 8 it can be planned again", i)
				case last != nil:
					if why := notBetter(w, last, now); why != "" {
						t.Errorf("at %d of 8: %s", i, why)
					}
				}
				if err == nil {
					for name, room := range now {
						moved = moved || last != nil && math.Abs(last[name]-room) > 1e-6
					}
					last = now
				}
			}
			if !moved && !gone {
				t.Error("it tries nothing")
			}
		})
	}
}

// Any two of them together, one of them made worse still.
func TestWorseInputNeverBetterInPairs(t *testing.T) {
	compared := 0
	rapid.Check(t, func(t *rapid.T) {
		w, other := rapid.SampledFrom(worses).Draw(t, "input"), rapid.SampledFrom(worses).Draw(t, "beside")
		if w.name == other.name || touchSame(w, other) {
			return
		}
		at, x := rapid.Float64Range(0, 1).Draw(t, "beside at"), rapid.Float64Range(0, 1).Draw(t, "x")
		y := rapid.Float64Range(x, 1).Draw(t, "worse")
		ask := func(x float64) (judged, error) {
			s := whole().clone()
			other.set(&s, at)
			w.set(&s, x)
			return judgedOf(s)
		}
		before, err1 := ask(x)
		after, err2 := ask(y)
		if err1 != nil && err2 == nil {
			t.Fatalf("%s beside %s: %v, and worse can be planned", w.name, other.name, err1)
		}
		if err1 != nil || err2 != nil {
			return
		}
		compared++
		if why := notBetter(w, before, after); why != "" {
			t.Fatalf("%s beside %s: %s", w.name, other.name, why)
		}
	})
	if compared == 0 {
		t.Error("nothing was compared")
	}
}

// touchSame reports two inputs that set the same value.
func touchSame(a, b worse) bool {
	pair := []string{a.name, b.name}
	slices.Sort(pair)
	return pair[0] == "less base pressure" && pair[1] == "more base pressure"
}
