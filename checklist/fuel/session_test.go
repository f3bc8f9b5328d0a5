package fuel

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	q "feedproof/schema/quantity"
)

// ringLap is an invented circuit.
func ringLap() Lap {
	at := func(s, load, boost, forward, left float64) Stretch {
		return Stretch{q.Duration(s), q.Fraction(load), q.Gauge(boost * q.Bar), q.Acceleration(forward * q.G), q.Acceleration(left * q.G), 0}
	}
	return Lap{at(8, 1, 1.7, .35, 0), at(3, .05, 0, -.9, 0), at(6, .45, .5, 0, .95), at(7, 1, 1.7, .3, .2), at(2.5, .05, 0, -.8, 0),
		at(5, .5, .5, .05, -.95), at(9, 1, 1.7, .25, 0), at(4, .6, .8, 0, 1.05), at(6, 1, 1.7, .3, 0), at(3.5, .1, 0, -.7, -.4)}
}

func basalt() Course {
	curve, err := NewCurve(p1())
	if err != nil {
		panic(err)
	}
	fuel, err := EthanolBlend(0.10)
	if err != nil {
		panic(err)
	}
	return Course{
		Blend: fuel, Barometer: SeaLevel, RVP: 62e3, Demand: 162.9 * q.LPerH, Return: IntoSurge,
		Pumps: func(boost q.Gauge) (q.Flow, q.Power, error) {
			p := 3.3*q.Bar + q.Difference(boost)
			flow, err := curve.beyond(p, 13.2)
			amps, _ := curve.Current(p, 13.2)
			return flow * 0.95, q.Power(13.2 * float64(amps)), err
		},
		Surge: 2 * q.Litre, Lift: 250 * q.LPerH, LiftPower: 60, Reprime: 0.4, Tank: Box{0.45, 0.90, 0.20}, PickUp: PickUp{0.225, 0.45, 0.01}, Fuel: 40 * q.Litre,
		SurgeLoss: 1.5, TankLoss: 6, RailLoss: 2, Bay: celsius(60), Air: celsius(30), Start: celsius(30),
	}
}

// A second method beside the exact switches: explicit steps of 2 ms in which
// nothing is located.
func TestSwitchesAgreeWithSmallSteps(t *testing.T) {
	for name, change := range map[string]func(*Course){
		"return in the surge tank": func(*Course) {},
		"return in the main tank":  func(c *Course) { c.Return = IntoTank },
		"small lift":               func(c *Course) { c.Lift = 130 * q.LPerH },
		"with a pot":               func(c *Course) { c.Pot, c.PotFill = 0.8*q.Litre, 900*q.LPerH },
	} {
		c := basalt()
		change(&c)
		s, err := c.Run(ringLap(), 6)
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		least, dry, starved := smallSteps(c, ringLap(), 6)
		if math.Abs(least-float64(s.Least)) > 4e-6 || math.Abs(dry-float64(s.Dry)) > 0.15 || math.Abs(starved-float64(s.Starved)) > 0.15 {
			t.Errorf("%s: least %v, dry %v, starved %v; by small steps %g, %g, %g", name, s.Least, s.Dry, s.Starved, least, dry, starved)
		}
	}
}

func smallSteps(c Course, lap Lap, laps int) (least, dry, starved float64) {
	const h = 0.002
	surge, main, pot, now, primed, air := float64(c.Surge), float64(c.Fuel-c.Pot), float64(c.Pot), 0.0, -1.0, false
	least = surge
	for range laps {
		for _, s := range lap {
			crit := float64(c.Tank.Covering(TiltUnder(s.Forward, s.Left, s.Grade), c.PickUp))
			flow, _, _ := c.Pumps(s.Boost)
			pumped := float64(flow)
			burnt := min(pumped, float64(s.Load)*float64(c.Demand))
			wet := main >= crit
			for range int(math.Round(float64(s.Time) / h)) {
				wet = wet && main >= crit
				source := wet || pot > 1e-12
				if !source {
					air = true
				} else if air {
					air, primed = false, now+float64(c.Reprime)
				}
				lift, fill := 0.0, 0.0
				if source && now >= primed {
					lift = float64(c.Lift)
				}
				if wet {
					fill = lift
					if pot < float64(c.Pot) {
						fill = float64(c.PotFill)
					}
				}
				net, back := lift-pumped, pumped-burnt
				if c.Return == IntoSurge {
					net, back = lift-burnt, 0
				}
				next, spill := surge+net*h, 0.0
				if next > float64(c.Surge) {
					spill, next = (next-float64(c.Surge))/h, float64(c.Surge)
				}
				if next < 0 {
					starved, next = starved+h, 0
					if c.Return == IntoTank {
						back = max(0, lift-min(burnt, lift))
					}
				}
				surge, main, pot = next, main+(spill+back-fill)*h, max(0, min(float64(c.Pot), pot+(fill-lift)*h))
				if lift == 0 {
					dry += h
				}
				least = min(least, surge)
				now += h
			}
		}
	}
	return least, dry, starved
}

func anyCourse(t *rapid.T) Course {
	c := basalt()
	c.Return = rapid.SampledFrom([]Destination{IntoSurge, IntoTank}).Draw(t, "return")
	c.Lift = q.Flow(rapid.Float64Range(80, 320).Draw(t, "lift L/h") * q.LPerH)
	c.Surge = q.Volume(rapid.Float64Range(0.05, 3).Draw(t, "surge L") * q.Litre)
	c.Fuel = q.Volume(rapid.Float64Range(5, 60).Draw(t, "fuel L") * q.Litre)
	c.Demand = q.Flow(rapid.Float64Range(60, 230).Draw(t, "demand L/h") * q.LPerH)
	return c
}

func run6(t *rapid.T, c Course, lap Lap) Session {
	s, err := c.Run(lap, 6)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// worse must not have kept more in the surge tank at its least, nor have starved
// later for the first time. How long it starved proves nothing: an engine that is
// cut off burns less, and the tank stays fuller for it.
func neverBetter(t *rapid.T, better, worse Session) {
	const litre, second = 1e-9, 1e-6
	later := better.StarvedAt >= 0 && (worse.StarvedAt < 0 || worse.StarvedAt > better.StarvedAt+second)
	if worse.Least > better.Least+litre || later {
		t.Fatalf("worse: least %v, starved at %v; better: %v, %v", worse.Least, worse.StarvedAt, better.Least, better.StarvedAt)
	}
}

func TestWorseCourseNeverBetter(t *testing.T) {
	for name, worsen := range map[string]func(*rapid.T, *Course){
		"less lift":  func(t *rapid.T, c *Course) { c.Lift *= q.Flow(rapid.Float64Range(0.3, 1).Draw(t, "share")) },
		"less surge": func(t *rapid.T, c *Course) { c.Surge *= q.Volume(rapid.Float64Range(0.3, 1).Draw(t, "share")) },
		"less fuel":  func(t *rapid.T, c *Course) { c.Fuel *= q.Volume(rapid.Float64Range(0.3, 1).Draw(t, "share")) },
	} {
		t.Run(name, func(t *testing.T) {
			rapid.Check(t, func(t *rapid.T) {
				c := anyCourse(t)
				c.Reprime = 0
				c.Return = IntoSurge // with the return outside, what starves the engine also keeps the main tank full
				if name == "less fuel" {
					c.Return = rapid.SampledFrom([]Destination{IntoSurge, IntoTank}).Draw(t, "return to")
				}
				worse := c
				worsen(t, &worse)
				neverBetter(t, run6(t, c, ringLap()), run6(t, worse, ringLap()))
			})
		})
	}
}

// In one lap from a full tank, more acceleration never keeps more in the surge tank.
func TestHarderCornersNeverCoverMore(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b := Box{0.45, 0.90, 0.20}
		at := PickUp{0.225, 0.45, 0.01} // at the centre: off it one side gains
		tilt := TiltUnder(q.Acceleration(rapid.Float64Range(-1.5, 1.5).Draw(t, "forward")*q.G), q.Acceleration(rapid.Float64Range(-1.5, 1.5).Draw(t, "left")*q.G), 0)
		harder := tilt.SteeperBy(1 + rapid.Float64Range(0, 1).Draw(t, "more"))
		if less, more := b.Covering(tilt, at), b.Covering(harder, at); less > more+1e-9 {
			t.Fatalf("covered from %v, in a harder corner from %v", less, more)
		}
	})
}

// Wherever the pick-up is, a harder corner never needs less, for the car turns
// both ways; nor does less fuel cover more.
func TestHarderCornerNeverNeedsLess(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		tank := Tank{Geometric: 60 * q.Litre, Length: 0.9, Height: 0.22, PickUp: q.Length(rapid.Float64Range(0, 0.9).Draw(t, "pick-up m")), Level: 0.4,
			Cornering: q.Acceleration(rapid.Float64Range(0, 1.5).Draw(t, "g") * q.G)}
		easy, err := tank.Cover(1)
		if err != nil {
			t.Fatal(err)
		}
		tank.Cornering += q.Acceleration(rapid.Float64Range(0, 0.5).Draw(t, "more g") * q.G)
		hard, err := tank.Cover(1)
		if err != nil {
			t.Fatal(err)
		}
		if hard.Needs < easy.Needs-1e-9 {
			t.Fatalf("needs %v, in a harder corner %v", easy.Needs, hard.Needs)
		}
	})
}

func TestReturnOutsideNeverHoldsLonger(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := anyCourse(t)
		c.Return = IntoSurge
		inside := run6(t, c, ringLap())
		c.Return = IntoTank
		if outside := run6(t, c, ringLap()); outside.Reserve > inside.Reserve || outside.LeastByLap[0] > inside.LeastByLap[0]+1e-9 {
			t.Fatalf("outside: %v and %v in the first lap, inside %v and %v", outside.Reserve, outside.LeastByLap[0], inside.Reserve, inside.LeastByLap[0])
		}
	})
}

// Hotter surroundings, and more vapour pressure, never leave more vapour margin.
func TestHotterNeverMoreVapourMargin(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := anyCourse(t)
		c.Fuel, c.Return = 40*q.Litre, IntoSurge
		cool := run6(t, c, ringLap())
		by := q.Temperature(rapid.Float64Range(0, 15).Draw(t, "K"))
		c.Bay, c.Air, c.Start = c.Bay+by, c.Air+by, c.Start+by
		c.RVP += q.Absolute(rapid.Float64Range(0, 20e3).Draw(t, "kPa"))
		if hot := run6(t, c, ringLap()); hot.Margin > cool.Margin+1e-6 || hot.Hottest < cool.Hottest-1e-6 {
			t.Fatalf("hotter: %v, %v; before %v, %v", hot.Margin, hot.Hottest, cool.Margin, cool.Hottest)
		}
	})
}

func TestCourseRefuses(t *testing.T) {
	for name, c := range map[string]struct {
		change func(*Course, *Lap)
		want   string
	}{
		"reservoir larger than the tank": {func(c *Course, _ *Lap) { c.Pot, c.PotFill = 60*q.Litre, 900*q.LPerH }, "fuel in the main tank: 40.00 L is outside 60.00 L to"},
		"lap of 0 s":                     {func(_ *Course, l *Lap) { *l = Lap{{Time: 0}} }, "lap: 0.0 s long"},
		"no lap":                         {func(_ *Course, l *Lap) { *l = nil }, "lap: 0.0 s long"},
		"pick-up outside":                {func(c *Course, _ *Lap) { c.PickUp.Left = 2 }, "pick-up from the right wall"},
		"load of 3":                      {func(_ *Course, l *Lap) { (*l)[1].Load = 3 }, "lap, stretch 2: load"},
		"no return":                      {func(c *Course, _ *Lap) { c.Return = "" }, "return: ends in"},
		"slow pot":                       {func(c *Course, _ *Lap) { c.Pot, c.PotFill = q.Litre, 100*q.LPerH }, "pot: 100.0 L/h runs into it"},
	} {
		course, lap := basalt(), ringLap()
		c.change(&course, &lap)
		if _, err := course.Run(lap, 2); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: %v, want %q", name, err, c.want)
		}
	}
}

// A lap of 2 min at 100 samples a second.
func BenchmarkSessionTwoMinutes(b *testing.B) {
	lap := make(Lap, 12000)
	for i := range lap {
		at := float64(i) / 100
		lap[i] = Stretch{0.01, q.Fraction(0.5 + 0.5*math.Sin(at/3)), q.Gauge((0.85 + 0.85*math.Sin(at/3)) * q.Bar), q.Acceleration(0.6 * math.Sin(at/4) * q.G), q.Acceleration(math.Sin(at/5) * q.G), 0}
	}
	c := basalt()
	for b.Loop() {
		if _, err := c.Run(lap, 1); err != nil {
			b.Fatal(err)
		}
	}
}
