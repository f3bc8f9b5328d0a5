package fuel

import (
	"fmt"
	"math"

	"feedproof/schema/quantity"
)

// Stretch is a piece of a lap with constant load and accelerations.
type Stretch struct {
	Time    quantity.Duration
	Load    quantity.Fraction // of full-power fuel
	Boost   quantity.Gauge
	Forward quantity.Acceleration
	Left    quantity.Acceleration
	Grade   float64 // tangent of the road, uphill positive
}

// Lap is stretches one after the other.
type Lap []Stretch

// Time of the lap.
func (l Lap) Time() quantity.Duration {
	var sum quantity.Duration
	for _, s := range l {
		sum += s.Time
	}
	return sum
}

// Course is a surge tank, or a reservoir, between a main tank and the pumps of
// the engine, with what is needed to follow it over a session.
type Course struct {
	Blend     Blend
	Barometer quantity.Absolute
	Over      quantity.Difference // kept over the fuel in the surge tank
	RVP       quantity.Absolute   // zero: no vapour margin

	Demand quantity.Flow                                                     // at full power
	Pumps  func(boost quantity.Gauge) (quantity.Flow, quantity.Power, error) // aged flow and electrical power of the engine's pumps
	Return Destination

	Surge     quantity.Volume // full, and at the start
	Lift      quantity.Flow   // while it draws fuel
	LiftPower quantity.Power
	Reprime   quantity.Duration // that it gives nothing after air
	Pot       quantity.Volume   // round its pick-up, full at the start; zero: none
	PotFill   quantity.Flow     // that runs into the pot while the tank's pick-up is covered

	Tank   Box
	PickUp PickUp
	Fuel   quantity.Volume // in the main tank at the start, with the pot

	SurgeLoss, TankLoss, RailLoss HeatLoss
	Bay, Air, Start               quantity.Temperature
}

// Limits of a course that has no meaning outside them.
const (
	mostSession    = 24 * quantity.Hour
	mostStretches  = 2_000_000
	nearlyEmpty    = 0.05 * quantity.Litre // stands in for an empty tank in the heat balance
	heatStep       = quantity.Duration(0.5)
	judgedFrom     = 0.1 // share of the surge tank above which its temperature counts
	volumeEpsilon  = 1e-15
	timeEpsilon    = 1e-10
	balanceEpsilon = 1e-9
)

func (c Course) validate() error {
	err := first(c.Tank.validate(), c.PickUp.validate(c.Tank), positive("surge tank volume", c.Surge), positive("fuel demand", c.Demand),
		notNegative("lift flow", c.Lift), notNegative("lift pump power", c.LiftPower), notNegative("re-prime time", c.Reprime),
		notNegative("pot volume", c.Pot), within("fuel in the main tank", c.Fuel, c.Pot, c.Tank.Volume()+c.Pot),
		within("start temperature", c.Start, celsius(-20), celsius(100)), within("bay temperature", c.Bay, celsius(-40), celsius(200)), within("air temperature", c.Air, celsius(-40), celsius(60)))
	if err != nil {
		return err
	}
	if c.Return != IntoSurge && c.Return != IntoTank {
		return fmt.Errorf("return: ends in %q, which is neither %s nor %s", c.Return, IntoSurge, IntoTank)
	}
	if c.Pot > 0 && c.PotFill <= c.Lift {
		return fmt.Errorf("pot: %s runs into it, no more than the lift pump's %s", quantity.Text(c.PotFill), quantity.Text(c.Lift))
	}
	return nil
}

func (l Lap) validate() error {
	if len(l) == 0 || !(l.Time() > 0) {
		return fmt.Errorf("lap: %s long, it must be more than zero", quantity.Text(l.Time()))
	}
	for i, s := range l {
		err := first(within("time", s.Time, 0, quantity.Duration(quantity.Hour)), within("load", s.Load, 0, 1.2), within("boost", s.Boost, -1.1e5, 8e5),
			within("acceleration forward", s.Forward, -10*quantity.G, 10*quantity.G), within("acceleration to the left", s.Left, -10*quantity.G, 10*quantity.G))
		if err == nil && !(math.Abs(s.Grade) <= 1) {
			err = fmt.Errorf("grade: %g is outside -1 to 1", s.Grade)
		}
		if err != nil {
			return fmt.Errorf("lap, stretch %d: %w", i+1, err)
		}
	}
	return nil
}

// Session is what a course did over its laps.
type Session struct {
	Reserve    quantity.Duration // of a full surge tank at full load with the lift pump dry
	FullLoad   quantity.Duration // with the lift pump running, when Lasts is false
	Lasts      bool              // the lift pump brings all that leaves
	Leaving    quantity.Flow     // the surge tank at full load
	Least      quantity.Volume   // in the surge tank
	LeastAt    quantity.Duration // first reached
	LeastByLap []quantity.Volume
	Dry        quantity.Duration // the lift pump gave nothing
	Starved    quantity.Duration // the engine's pumps were short
	StarvedAt  quantity.Duration // first; below zero never
	Burnt      quantity.Volume
	Hottest    quantity.Temperature // of the surge tank while over a tenth full
	Margin     quantity.Difference  // least over vapour pressure, there
	MarginOK   bool                 // it is known
	LowAt      quantity.Duration    // when it first fell under [VapourReserve]; below zero never
	Surge      Standing             // at the end
	Main       Standing             // with the pot
	Time       quantity.Duration
	Covering   quantity.Volume // most that any stretch asks of the main tank to keep its pick-up covered
	Track      []Moment
}

// Standing is fuel in a tank.
type Standing struct {
	Volume      quantity.Volume
	Temperature quantity.Temperature
}

// Moment is both tanks at a time.
type Moment struct {
	At          quantity.Duration
	Surge, Main Standing
	Margin      quantity.Difference
}

// Run follows the course over so many laps. Volumes are straight lines between
// switches, which are found exactly; temperatures by Runge and Kutta's method in
// steps of 0.5 s or less. The pick-up is covered while the main tank holds what
// its tilt asks; that is decided at the start of a stretch, and within it can
// only be lost. Perfectly stirred tanks, quasi-static fuel, constant density.
//
// Errors: what a course or lap lacks; a pump asked for more than its curve shows;
// fuel over 100 degC.
func (c Course) Run(lap Lap, laps int) (Session, error) {
	if err := c.validate(); err != nil {
		return Session{}, err
	}
	if err := lap.validate(); err != nil {
		return Session{}, err
	}
	if laps < 1 || len(lap)*laps > mostStretches || lap.Time()*quantity.Duration(laps) > mostSession {
		return Session{}, fmt.Errorf("laps: %d of %s, from 1 to a session of %s", laps, quantity.Text(lap.Time()), quantity.Text(quantity.Duration(mostSession)))
	}
	r := newRun(c)
	stages, err := r.stages(lap)
	if err != nil {
		return Session{}, err
	}
	for range laps {
		r.lap(stages)
		if r.err != nil {
			return Session{}, r.err
		}
	}
	return r.finish(stages)
}

// stage is a stretch with its flows.
type stage struct {
	time                float64
	pumped, burnt, back float64
	power               float64
	left                float64 // of heat along rail and hoses: exp(-UA/(rho c q))
	covering            float64
	load                float64
}

type run struct {
	c                Course
	out              Session
	surge, main, pot float64
	t                [2]float64 // surge, main
	now, primed      float64
	air              bool
	low              float64
	a, b             float64 // of the vapour pressure
	heat             float64 // rho c
	err              error
}

func newRun(c Course) *run {
	r := &run{c: c, surge: float64(c.Surge), main: float64(c.Fuel - c.Pot), pot: float64(c.Pot), primed: -1, heat: c.Blend.volumeHeat()}
	r.t = [2]float64{float64(c.Start), float64(c.Start)}
	r.out = Session{Least: c.Surge, StarvedAt: -1, LowAt: -1, Hottest: c.Start}
	return r
}

func (r *run) stages(lap Lap) ([]stage, error) {
	if r.c.RVP > 0 {
		var err error
		if r.a, r.b, err = VapourConstants(r.c.RVP, GasolineSlope); err != nil {
			return nil, err
		}
		r.out.MarginOK, r.out.Margin = true, r.margin(r.t[0])
	}
	stages := make([]stage, 0, len(lap))
	for _, s := range lap {
		flow, power, err := r.c.Pumps(s.Boost)
		if err != nil {
			return nil, err
		}
		q, demand := float64(flow), float64(s.Load)*float64(r.c.Demand)
		st := stage{time: float64(s.Time), pumped: q, burnt: min(demand, q), back: max(0, q-demand), power: float64(power), load: float64(s.Load)}
		if q > 0 {
			st.left = math.Exp(-float64(r.c.RailLoss) / (r.heat * q))
		}
		st.covering = float64(r.c.Tank.Covering(TiltUnder(s.Forward, s.Left, s.Grade), r.c.PickUp))
		r.out.Covering = max(r.out.Covering, quantity.Volume(st.covering))
		stages = append(stages, st)
	}
	return stages, nil
}

func (r *run) margin(t float64) quantity.Difference {
	return quantity.Difference(r.c.Barometer) + r.c.Over - quantity.Difference(math.Exp(r.a-r.b/(1.8*t))*quantity.PSI)
}

func (r *run) lap(stages []stage) {
	r.low = r.surge
	for i := range stages {
		r.stretch(&stages[i])
		r.moment()
	}
	r.out.LeastByLap = append(r.out.LeastByLap, quantity.Volume(max(0, r.low)))
}

func (r *run) moment() {
	m := Moment{quantity.Duration(r.now), Standing{quantity.Volume(max(0, r.surge)), quantity.Temperature(r.t[0])},
		Standing{quantity.Volume(r.main + r.pot), quantity.Temperature(r.t[1])}, 0}
	if r.out.MarginOK {
		m.Margin = r.margin(r.t[0])
	}
	r.out.Track = append(r.out.Track, m)
}

func (r *run) stretch(s *stage) {
	end := r.now + s.time
	covered := r.main >= s.covering
	for events := 0; r.now < end-timeEpsilon && r.err == nil; events++ {
		if events > 10_000 {
			r.err = fmt.Errorf("surge tank: its level switches more than 10000 times in one stretch at %s", quantity.Text(quantity.Duration(r.now)))
			return
		}
		f := r.flows(s, covered)
		dt, uncovers := r.until(f, s, covered, end-r.now)
		if dt > 0 {
			r.warm(f, s, dt)
		}
		r.count(f, dt)
		if uncovers {
			covered = false
		}
	}
	r.now = end
}

// flows of one moment.
type flows struct {
	lift, fill      float64
	pumped, burnt   float64
	back, over      float64 // return, and overflow of the surge tank
	surge, main, pt float64 // rates of the volumes
	starved         bool
}

func (r *run) flows(s *stage, covered bool) flows {
	f := flows{pumped: s.pumped, burnt: s.burnt, back: s.back}
	source := covered || r.pot > volumeEpsilon
	switch {
	case !source:
		r.air = true
	case r.air:
		r.air, r.primed = false, r.now+float64(r.c.Reprime)
	}
	if source && r.now >= r.primed-timeEpsilon {
		f.lift = float64(r.c.Lift)
	}
	switch {
	case covered && r.c.Pot > 0 && r.pot < float64(r.c.Pot)-volumeEpsilon:
		f.fill = float64(r.c.PotFill)
	case covered:
		f.fill = f.lift
	}
	inside := r.c.Return == IntoSurge
	f.surge = f.lift - f.pumped
	if inside {
		f.surge += f.back
	}
	if r.surge >= float64(r.c.Surge)-volumeEpsilon && f.surge > 0 {
		f.over, f.surge = f.surge, 0
	}
	if r.surge <= volumeEpsilon && f.surge < 0 {
		f.starve(s, inside)
	}
	f.main = f.over - f.fill
	if !inside {
		f.main += f.back
	}
	if r.c.Pot > 0 {
		f.pt = f.fill - f.lift
	}
	return f
}

// starve gives the engine no more than the lift pump brings.
func (f *flows) starve(s *stage, inside bool) {
	f.starved, f.surge, f.burnt = true, 0, min(s.burnt, f.lift)
	if inside {
		f.pumped = f.lift + f.back
		return
	}
	f.pumped, f.back = f.lift, max(0, f.lift-f.burnt)
}

// until is the time to the next switch, and whether the pick-up is lost there.
func (r *run) until(f flows, s *stage, covered bool, left float64) (dt float64, uncovers bool) {
	dt = left
	if r.primed > r.now+timeEpsilon {
		dt = min(dt, r.primed-r.now)
	}
	reach := func(from, to, rate float64) {
		if rate != 0 && (to-from)/rate > 0 {
			dt = min(dt, (to-from)/rate)
		}
	}
	full, tenth := float64(r.c.Surge), judgedFrom*float64(r.c.Surge)
	reach(r.surge, full, max(0, f.surge))
	reach(r.surge, 0, min(0, f.surge))
	if f.surge != 0 && (tenth-r.surge)/f.surge > 1e-12 {
		dt = min(dt, (tenth-r.surge)/f.surge)
	}
	reach(r.pot, float64(r.c.Pot), max(0, f.pt))
	reach(r.pot, 0, min(0, f.pt))
	if covered && f.main < 0 && r.main+f.main*dt < s.covering {
		return max(0, (r.main-s.covering)/-f.main), true
	}
	return dt, false
}

// warm carries both temperatures over dt.
func (r *run) warm(f flows, s *stage, dt float64) {
	x := r.exchange(f, s)
	step := heatStep
	if q := f.lift + f.back; q > 0 {
		step = min(step, quantity.Duration(0.5*nearlyEmpty/q))
	}
	n := max(1, math.Ceil(dt/float64(step)-1e-9))
	h := dt / n
	tenth := judgedFrom*float64(r.c.Surge) - 1e-12
	for i := range int(n) {
		at := float64(i) * h
		if r.surge+f.surge*at >= tenth {
			r.judge(at)
		}
		r.t = x.step(r.t, at, h)
	}
	if r.surge+f.surge*dt >= tenth {
		r.judge(dt)
	}
	if !(r.t[0] < float64(celsius(200)) && r.t[1] < float64(celsius(200))) {
		r.err = fmt.Errorf("fuel temperature: over %s at %s; the heat balance means nothing there", quantity.Text(celsius(200)), quantity.Text(quantity.Duration(r.now+dt)))
	}
}

// judge takes note of the surge tank's temperature at an offset.
func (r *run) judge(at float64) {
	if t := quantity.Temperature(r.t[0]); t > r.out.Hottest {
		r.out.Hottest = t
	}
	if !r.out.MarginOK {
		return
	}
	m := r.margin(r.t[0])
	r.out.Margin = min(r.out.Margin, m)
	if m < VapourReserve && r.out.LowAt < 0 {
		r.out.LowAt = quantity.Duration(r.now + at)
	}
}

// exchange is the heat balance of both tanks at constant flows.
func (r *run) exchange(f flows, s *stage) Stirred {
	x := Stirred{Volume: [2]quantity.Volume{quantity.Volume(r.surge), quantity.Volume(r.main)}, Rate: [2]quantity.Flow{quantity.Flow(f.surge), quantity.Flow(f.main)}, Least: nearlyEmpty}
	add := func(tank int, flow, own, other, gain float64) { // a stream whose temperature is own T + other T_other + gain
		x.Own[tank] += quantity.Flow(flow * (own - 1))
		x.Other[tank] += quantity.Flow(flow * other)
		x.Gain[tank] += flow * gain
	}
	lose := func(tank int, loss HeatLoss, around quantity.Temperature) {
		add(tank, float64(loss)/r.heat, 0, 0, float64(around))
	}
	liftHeat := float64(r.c.LiftPower) / r.heat
	if f.lift > 0 {
		add(0, f.lift, 0, 1, liftHeat/f.lift)
	} else {
		x.Gain[1] += liftHeat
	}
	lose(0, r.c.SurgeLoss, r.c.Bay)
	lose(1, r.c.TankLoss, r.c.Air)
	add(1, f.over, 0, 1, 0)
	left, warmer := s.left, 0.0 // return: bay + (T_s + warmer - bay) left
	if f.pumped > 0 {
		if f.pumped != s.pumped {
			left = math.Exp(-float64(r.c.RailLoss) / (r.heat * f.pumped))
		}
		warmer = s.power / (r.heat * f.pumped)
	} else {
		left = 0
	}
	gain := float64(r.c.Bay)*(1-left) + warmer*left
	if r.c.Return == IntoSurge {
		add(0, f.back, left, 0, gain)
	} else {
		add(1, f.back, 0, left, gain)
	}
	return x
}

// count moves volumes and time on.
func (r *run) count(f flows, dt float64) {
	if f.lift == 0 {
		r.out.Dry += quantity.Duration(dt)
	}
	if f.starved && dt > 0 {
		if r.out.StarvedAt < 0 {
			r.out.StarvedAt = quantity.Duration(r.now)
		}
		r.out.Starved += quantity.Duration(dt)
	}
	r.out.Burnt += quantity.Volume(f.burnt * dt)
	r.surge, r.main, r.pot, r.now = r.surge+f.surge*dt, r.main+f.main*dt, r.pot+f.pt*dt, r.now+dt
	if r.surge < float64(r.out.Least)-1e-12 {
		r.out.Least, r.out.LeastAt = quantity.Volume(max(0, r.surge)), quantity.Duration(r.now)
		if r.surge < 1e-12 {
			r.out.Least = 0
		}
	}
	r.low = min(r.low, r.surge)
}

func (r *run) finish(stages []stage) (Session, error) {
	o := &r.out
	o.Time = quantity.Duration(r.now)
	o.Surge = Standing{quantity.Volume(max(0, r.surge)), quantity.Temperature(r.t[0])}
	o.Main = Standing{quantity.Volume(r.main + r.pot), quantity.Temperature(r.t[1])}
	if lost := math.Abs(float64(r.c.Surge+r.c.Fuel-o.Burnt) - r.surge - r.main - r.pot); !(lost < balanceEpsilon) {
		return Session{}, fmt.Errorf("surge tank: %s of fuel is lost in the balance", quantity.Text(quantity.Volume(lost)))
	}
	hardest := stages[0]
	for _, s := range stages {
		if s.load > hardest.load {
			hardest = s
		}
	}
	o.Leaving = quantity.Flow(hardest.pumped)
	if r.c.Return == IntoSurge {
		o.Leaving = quantity.Flow(hardest.burnt)
	}
	if o.Leaving > 0 {
		o.Reserve = ReservoirEndurance(r.c.Surge, o.Leaving)
	}
	o.FullLoad, o.Lasts = FullLoadTime(r.c.Surge, o.Leaving, r.c.Lift)
	o.Lasts = !o.Lasts
	return *o, nil
}
