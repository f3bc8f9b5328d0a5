package fuel

import (
	"fmt"
	"math"

	"feedproof/schema/quantity"
)

// Plan computes a whole system at full power of its envelope: the blend with
// most ethanol, the highest manifold pressure over the lowest barometer, the
// highest fuel temperature, aged pumps at their terminal voltage.
//
// It refuses what makes no sense with an error that names the part, and what
// lies outside a curve or formula with a [RangeError]. A poor system is not an
// error: its margin says so.
func Plan(s System) (Result, error) {
	return (&planner{s: s}).run()
}

func (p *planner) run() (Result, error) {
	err := inTurn(p.start, p.demand, p.pressures, p.deliver, p.inject, p.electrical, p.idle, p.suction, p.tank, p.surge, p.hydraulics, p.worst)
	if err != nil {
		return Result{}, err
	}
	return p.r, nil
}

// inTurn does steps until one fails.
func inTurn(steps ...func() error) error {
	for _, step := range steps {
		if err := step(); err != nil {
			return err
		}
	}
	return nil
}

// OutletTolerance is how far the lead's round outlet pressure may lie under
// the computed one: friction laws differ by as much.
const OutletTolerance quantity.Fraction = 0.01

type planner struct {
	s     System
	r     Result
	bank  bank
	quick bool // only what power moves: no worst states, no idle, no network
	whole bool // when quick: the network of full load all the same
	idles *Operation
}

func (p *planner) note(format string, args ...any) {
	p.r.Notes = append(p.r.Notes, fmt.Sprintf(format, args...))
}

func (p *planner) start() error {
	err := p.s.validate()
	if err != nil {
		return err
	}
	if p.bank, err = newBank(p.s); err != nil {
		return err
	}
	if p.r.Barometer, err = p.s.Site.barometer(); err != nil {
		return err
	}
	p.r.Blend, err = p.s.Fuel.Blend()
	p.breathe()
	return err
}

// breathe sets the manifold pressure over the barometer.
func (p *planner) breathe() {
	p.r.Manifold = p.s.Engine.manifold(p.r.Barometer)
	p.r.Boost = quantity.Gauge(p.r.Manifold - p.r.Barometer)
}

func (p *planner) demand() error {
	d, err := FullPower(p.s.Engine, p.r.Blend)
	if err != nil {
		return err
	}
	p.r.Demand = d
	if d.Explain != "" {
		p.note("demand: %s", d.Explain)
	}
	least, err := EthanolBlend(p.s.Fuel.EthanolMin)
	if err != nil {
		return err
	}
	most, err := EthanolBlend(p.s.Fuel.EthanolMax)
	p.r.Distances.EthanolVar = quantity.Fraction(LambdaShift(most, least))
	return err
}

// pressures finds what the pump's outlet needs. With a return line the feed
// carries what the pumps give at that pressure.
func (p *planner) pressures() error {
	out := &p.r.Pressures
	out.Acceleration = AccelerationHead(p.r.Blend.Density, p.s.Acceleration, p.s.Feed.Forward)
	find := p.injected
	if p.s.Carburettor != nil {
		find = p.carburetted
	}
	if err := find(); err != nil {
		return err
	}
	out.Feed = p.s.Feed.Loss(out.FeedFlow, p.r.Blend)
	out.Outlet = out.Computed
	if planned := p.s.OutletPressure; planned != 0 {
		if planned < out.Computed*(1-quantity.Gauge(OutletTolerance)) {
			return fmt.Errorf("planned outlet pressure: %s is less than the %s that rail, line and parts need", quantity.Text(planned), quantity.Text(out.Computed))
		}
		out.Outlet = planned
	}
	return nil
}

// injected takes the pressures from the network in which the injectors get the
// demand.
func (p *planner) injected() error {
	out := &p.r.Pressures
	out.Regulated = p.s.Regulator.Rail(p.r.Manifold, p.r.Barometer)
	if p.s.Regulator.Across(p.r.Manifold, p.r.Barometer) <= 0 {
		return fmt.Errorf("regulator: %s at the rail under a manifold of %s leaves no pressure across the injectors", quantity.Text(out.Regulated), quantity.Text(p.r.Manifold))
	}
	need, err := p.needsAtVolts()
	if err != nil {
		return err
	}
	if need.Lowest <= 0 {
		return fmt.Errorf("feed line: at a demand of %s its losses leave no pressure across the injectors", quantity.Text(p.r.Demand.Volume))
	}
	out.Computed, out.FeedFlow, out.Rail, out.Across = need.Outlet, need.Flow, need.Rail, need.Lowest
	return nil
}

// outletAt is the outlet pressure that a flow through the feed needs.
func (p *planner) outletAt(q quantity.Flow) (quantity.Gauge, error) {
	if p.s.Carburettor != nil {
		return p.s.Carburettor.Pressure + quantity.Gauge(p.s.Feed.Loss(q, p.r.Blend).Total+p.r.Pressures.Acceleration), nil
	}
	need, err := p.needed(nil, q)
	return need.Outlet, err
}

// voltSteps and voltEnough find the volts that fit the pressure they make.
const (
	voltSteps  = 8
	voltEnough = 1e-7
)

func (p *planner) needsAtVolts() (Needs, error) {
	v, err := p.terminal(quantity.Difference(p.r.Pressures.Regulated))
	if err != nil {
		return Needs{}, err
	}
	for step := 0; ; step++ {
		need, err := p.needs(v)
		if err != nil {
			return Needs{}, err
		}
		next, err := p.terminal(p.rise(need.Outlet, need.Flow))
		if err != nil || step >= voltSteps || math.Abs(float64(next-v)) < voltEnough {
			return need, err
		}
		v = next
	}
}

// rise is what the pumps must add: the pressure at their outlet less that at
// their inlet, which a suction line lowers.
func (p *planner) rise(outlet quantity.Gauge, q quantity.Flow) quantity.Difference {
	return quantity.Difference(outlet) - p.atInlet(q)
}

// atInlet is the gauge pressure at the pumps' inlet.
func (p *planner) atInlet(q quantity.Flow) quantity.Difference {
	s := p.s.Suction
	if s == nil {
		return 0
	}
	head := quantity.Difference(float64(p.r.Blend.Density) * quantity.G * float64(s.Level))
	return s.OverVented + head - s.Line.Loss(q, p.r.Blend).Total
}

// carburetted is the same for a carburettor, which has no rail to solve.
func (p *planner) carburetted() error {
	out := &p.r.Pressures
	out.Rail, out.Regulated = p.s.Carburettor.Pressure, p.s.Carburettor.Pressure
	need := func(q quantity.Flow) quantity.Gauge {
		outlet, _ := p.outletAt(q)
		return outlet
	}
	out.FeedFlow = p.r.Demand.Volume
	if p.s.Return != nil {
		q, err := p.circulating(need)
		if err != nil {
			return err
		}
		out.FeedFlow = max(q, out.FeedFlow)
	}
	out.Computed = need(out.FeedFlow)
	return nil
}

// circulating is the flow of new pumps through the feed at full load.
func (p *planner) circulating(need func(quantity.Flow) quantity.Gauge) (quantity.Flow, error) {
	gives := func(q quantity.Flow) (quantity.Flow, error) {
		rise := p.rise(need(q), q)
		v, err := p.terminal(rise)
		if err != nil {
			return 0, err
		}
		return p.bank.flow(rise, v, false, false)
	}
	most, err := gives(0)
	if err != nil {
		return 0, err
	}
	return settled(0, most, gives)
}

// settled is the flow that a falling function of flow gives back.
func settled(low, most quantity.Flow, gives func(quantity.Flow) (quantity.Flow, error)) (quantity.Flow, error) {
	var failed error
	q := crossing(low, most, func(q quantity.Flow) float64 {
		got, err := gives(q)
		if err != nil {
			failed = err
		}
		return float64(got - q)
	})
	return q, failed
}

// terminal is the voltage at the pumps at a pressure rise.
func (p *planner) terminal(rise quantity.Difference) (quantity.Voltage, error) {
	if p.s.Supply.Terminal != 0 {
		return p.s.Supply.Terminal, nil
	}
	return p.wiredVoltage(rise)
}

func (p *planner) wiredVoltage(rise quantity.Difference) (quantity.Voltage, error) {
	loop, _, err := p.s.Supply.loop()
	if err != nil {
		return 0, err
	}
	if _, _, known := p.bank.current(rise, p.s.Supply.Source); !known {
		return 0, fmt.Errorf("supply: the pump's curve has no current, so the drop in the wire is unknown; measure the voltage at the pump or add the current")
	}
	return PumpVoltage(p.s.Supply.Source, loop, func(v quantity.Voltage) quantity.Current {
		each, _, _ := p.bank.current(rise, v)
		return each
	}), nil
}

func (p *planner) deliver() error {
	out := p.r.Pressures
	v, err := p.terminal(p.rise(out.Outlet, out.FeedFlow))
	if err != nil {
		return err
	}
	fresh, err := p.delivered(out.Outlet, v, false)
	if err != nil {
		return err
	}
	aged, err := p.delivered(out.Outlet, v, true)
	if err != nil {
		return err
	}
	rise := p.rise(out.Outlet, aged)
	d := &p.r.Delivery
	*d = Delivery{Voltage: v, Rise: rise, New: fresh, Flow: aged, Margin: quantity.Fraction(aged / p.r.Demand.Volume), Power: HydraulicPower(rise, fresh)}
	if fresh > 0 {
		d.Left = quantity.Fraction(aged / fresh)
	}
	if text := p.bank.carried(v); text != "" {
		p.r.Carried = append(p.r.Carried, text)
	}
	if len(p.s.Pumps) > 1 && p.bank.arrangement != Series {
		d.Single, err = p.single(rise, v)
	}
	return err
}

// delivered is what the pumps give at an outlet pressure, within their curves.
func (p *planner) delivered(outlet quantity.Gauge, v quantity.Voltage, aged bool) (quantity.Flow, error) {
	if p.s.Suction == nil {
		return p.bank.flow(quantity.Difference(outlet), v, aged, true)
	}
	gives := func(q quantity.Flow) (quantity.Flow, error) {
		return p.bank.flow(p.rise(outlet, q), v, aged, false)
	}
	most, err := gives(0)
	if err != nil {
		return 0, err
	}
	q, err := settled(0, most, gives)
	if err != nil {
		return 0, err
	}
	return p.bank.flow(p.rise(outlet, q), v, aged, true)
}

// single is the margin with only the weakest pump of a bank running.
func (p *planner) single(rise quantity.Difference, v quantity.Voltage) (quantity.Fraction, error) {
	var weakest quantity.Flow
	for k := range p.bank.curves {
		q, err := p.bank.one(k, rise, v, true, true)
		if err != nil {
			return 0, err
		}
		if k == 0 || q < weakest {
			weakest = q
		}
	}
	return quantity.Fraction(weakest / p.r.Demand.Volume), nil
}

func (p *planner) inject() error {
	if p.s.Carburettor != nil {
		c := p.s.Carburettor.state(p.r.Demand.Volume, p.r.Blend.Density, p.r.Pressures.Acceleration)
		p.r.Carburetted = &c
		return nil
	}
	i, err := p.duty()
	if err != nil {
		return err
	}
	if i.AssumedTest {
		p.note("injectors: test fluid not said, n-heptane assumed, the low side")
	}
	p.r.Injection = &i
	if idle := p.s.Engine.Idle; idle != nil {
		across := p.s.Regulator.Across(min(idle.Manifold, p.r.Barometer), p.r.Barometer)
		i.Idle, err = p.s.Injectors.idle(*idle, p.r.Blend.Density, across, p.injectorVoltage())
	}
	return err
}

// duty of the injectors; without a return line also with cold fuel, whose loss
// in the line comes off the pressure across them. The harder one counts.
func (p *planner) duty() (Injection, error) {
	i, err := p.s.Injectors.inject(p.r.Demand.Mass, p.r.Blend.Density, p.r.Pressures.Across, p.injectorVoltage(), p.s.Engine.SpeedMax)
	if err != nil || p.s.Return != nil {
		return i, err
	}
	cold, err := p.cold()
	if err != nil {
		return i, err
	}
	need, err := cold.needs(p.r.Delivery.Voltage)
	if err != nil {
		return i, err
	}
	j, err := p.s.Injectors.inject(p.r.Demand.Mass, cold.r.Blend.Density, need.Lowest, p.injectorVoltage(), p.s.Engine.SpeedMax)
	if err != nil || j.Effective <= i.Effective {
		return i, err
	}
	j.Cold = true
	p.r.Pressures.Across, p.r.Pressures.Rail = need.Lowest, need.Rail
	return j, nil
}

// ColdFuel is the temperature at which a plan also asks what thick fuel does
// (common practice): on the outlet pressure, and on a line without a return.
const ColdFuel quantity.Temperature = 253.15 // -20 degC

// cold is the planner with cold fuel in the system.
func (p *planner) cold() (*planner, error) {
	c := *p
	blend, err := EthanolBlend(p.s.Fuel.EthanolMax)
	if err != nil {
		return nil, err
	}
	if c.r.Blend, err = blend.At(ColdFuel); err != nil {
		return nil, err
	}
	c.r.Demand.Volume = VolumeFlow(c.r.Demand.Mass, c.r.Blend.Density)
	return &c, nil
}

// injectorVoltage is the source where known; the injectors do not hang on the pump's wire.
func (p *planner) injectorVoltage() quantity.Voltage {
	if p.s.Supply.Source != 0 {
		return p.s.Supply.Source
	}
	return p.s.Supply.Terminal
}

func (p *planner) electrical() error {
	rise := p.r.Delivery.Rise
	e := &p.r.Electrical
	e.Terminal, e.Measured = p.r.Delivery.Voltage, p.s.Supply.Terminal != 0
	e.Current, e.AllPumps, e.Known = p.bank.current(rise, e.Terminal)
	if !e.Known {
		p.note("pumps: the curve has no current, so fuse, heat and wire are not judged")
		return nil
	}
	e.Power = quantity.Power(float64(e.Terminal) * float64(e.AllPumps))
	e.Efficiency = quantity.Fraction(p.r.Delivery.Power / e.Power)
	if e.Efficiency > EfficiencyCeiling {
		p.note("pumps: %s efficiency at this point, more than a pump has; check the curve", quantity.Format(e.Efficiency, "%", 0))
	}
	e.FuseLow, e.FuseHigh = FuseWindow(e.Current)
	e.Fuses = BladeFuses(e.Current, p.s.Supply.Ampacity)
	if !p.s.Supply.wired() {
		return nil
	}
	return p.wiring(rise)
}

func (p *planner) wiring(rise quantity.Difference) error {
	e := &p.r.Electrical
	loop, ground, err := p.s.Supply.loop()
	if err != nil {
		return err
	}
	if e.Computed, err = p.wiredVoltage(rise); err != nil {
		return err
	}
	each, _, _ := p.bank.current(rise, e.Computed)
	e.Resistance = loop
	e.Lost, e.GroundLost = p.s.Supply.Source-e.Computed, VoltageDrop(each, ground)
	return nil
}

// idle sends the whole flow of new pumps back through the return, with the rail
// at its lowest and the volts that are left when the pump works least.
func (p *planner) idle() error {
	if p.s.Return == nil || p.quick && p.s.Surge == nil {
		return nil
	}
	if p.s.Carburettor != nil {
		return p.carburettorIdle()
	}
	o, err := p.operate(p.idlePoint())
	if err != nil {
		return err
	}
	p.idles = &o
	p.backAtIdle(p.s.Regulator.Rail(p.idlePoint().Manifold, p.r.Barometer), o.Return, o.BeyondCurve)
	p.r.Idle.Pump, p.r.Idle.Holds = o.Pump, o.Holds
	return nil
}

// idlePoint is the engine at idle; where none is given it burns nothing, under
// the barometer.
func (p *planner) idlePoint() Point {
	at := Point{Manifold: p.r.Barometer, New: true}
	if idle := p.s.Engine.Idle; idle != nil {
		at.Manifold, at.Fuel = min(idle.Manifold, p.r.Barometer), idle.Fuel
	}
	at.Voltage = p.idleVolts(quantity.Difference(p.s.Regulator.Rail(at.Manifold, p.r.Barometer)))
	return at
}

// idleVolts is the most the pumps may see: the source less what the wire takes
// at idle, never less than at full load, and within their curves.
func (p *planner) idleVolts(rise quantity.Difference) quantity.Voltage {
	v := max(p.r.Delivery.Voltage, p.s.Supply.Source)
	if p.s.Supply.wired() {
		if wired, err := p.wiredVoltage(rise); err == nil {
			v = max(p.r.Delivery.Voltage, wired)
		}
	}
	for _, c := range p.bank.curves {
		_, most := c.VoltageRange()
		v = min(v, most)
	}
	return v
}

func (p *planner) backAtIdle(rail quantity.Gauge, q quantity.Flow, outside bool) {
	loss := p.s.Return.Loss(q, p.r.Blend)
	back := quantity.Gauge(loss.Total)
	lowest := back
	for _, d := range p.s.Regulator.WideOpen {
		lowest += quantity.Gauge(d.Loss(q))
	}
	p.r.Velocities.Return = loss.Velocity
	p.r.Idle = &IdleReturn{Rail: rail, Flow: q, Pump: q, Loss: loss, BackPressure: back, Lowest: lowest, Holds: lowest < rail, Extrapolated: outside}
	if outside {
		p.r.Carried = append(p.r.Carried, "idle: the pump works beyond the pressures that its curve shows, which is carried on in a straight line")
	}
}

func (p *planner) carburettorIdle() error {
	rail := p.r.Pressures.Rail
	v := p.idleVolts(quantity.Difference(rail))
	rise := func(q quantity.Flow) quantity.Difference {
		return p.rise(rail, q) + p.s.Feed.Loss(q, p.r.Blend).Total
	}
	gives := func(q quantity.Flow) (quantity.Flow, error) { return p.bank.flow(rise(q), v, false, false) }
	most, err := gives(0)
	if err != nil {
		return err
	}
	q, err := settled(0, most, gives)
	if err != nil {
		return err
	}
	low, _ := p.bank.curves[0].Range(v)
	p.backAtIdle(rail, q, rise(q) < low)
	return nil
}

// mostPumped is the most that new pumps move: at idle, where pressure is low, or
// at full load. Without a return line only the demand leaves.
func (p *planner) mostPumped() (quantity.Flow, string) {
	switch idle := p.r.Idle; {
	case p.s.Return == nil:
		return p.r.Demand.Volume, AtFullLoad
	case idle != nil && idle.Pump > p.r.Delivery.New:
		return idle.Pump, AtIdle
	}
	return p.r.Delivery.New, AtFullLoad
}

// Names of the loads in which a state is solved.
const (
	AtFullLoad = "full load"
	AtIdle     = "idle"
)

func (p *planner) suction() error {
	p.r.Velocities.Feed = p.r.Pressures.Feed.Velocity
	var state *SuctionState
	if p.s.Suction != nil {
		q, at := p.mostPumped()
		loss := p.s.Suction.Line.Loss(q, p.r.Blend)
		state = &SuctionState{Flow: q, At: at, Loss: loss, Vacuum: loss.Total}
		p.r.Velocities.Suction = loss.Velocity
	}
	p.r.Suction = state
	var err error
	p.r.Vapour, err = p.s.vapour(p.r.Blend, p.r.Barometer, state)
	return err
}

func (p *planner) tank() error {
	if p.s.Tank == nil {
		return nil
	}
	pumped, _ := p.mostPumped()
	t, err := p.s.Tank.state(p.r.Demand.Volume, pumped, p.r.Electrical.Power, p.r.Blend)
	p.r.Tank = &t
	if text := p.s.Tank.unread(t); text != "" {
		p.note("%s", text)
		p.r.Unread = append(p.r.Unread, text)
	}
	return err
}

func (p *planner) surge() error {
	if p.s.Surge == nil {
		return nil
	}
	leaving, at := p.r.Demand.Volume, AtFullLoad
	if p.s.Surge.ReturnEnds != IntoSurge {
		leaving, at = p.mostPumped()
	}
	state, err := p.s.Surge.state(p.r.Demand.Volume, leaving, p.bank.hot)
	state.At = at
	p.r.Surge = &state
	return err
}
