package fuel

import (
	"fmt"

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
	err := inTurn(p.start, p.demand, p.pressures, p.deliver, p.inject, p.electrical, p.lines, p.idle, p.suction, p.tank, p.hydraulics)
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
	quick bool // leave the network out
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
	p.r.Boost = quantity.Gauge(p.s.Engine.ManifoldMax - p.r.Barometer)
	return err
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

// pressures finds the outlet pressure. With a regulator after the rail the
// feed carries what the pump gives at that pressure, so it is a fixed point.
func (p *planner) pressures() error {
	out := &p.r.Pressures
	if p.s.Carburettor != nil {
		out.Rail = p.s.Carburettor.Pressure
	} else {
		out.Rail = p.s.Regulator.Rail(p.s.Engine.ManifoldMax, p.r.Barometer)
		out.Across = p.s.Regulator.Across(p.s.Engine.ManifoldMax, p.r.Barometer)
		if out.Across <= 0 {
			return fmt.Errorf("regulator: %s at the rail under a manifold of %s leaves no pressure across the injectors", quantity.Text(out.Rail), quantity.Text(p.s.Engine.ManifoldMax))
		}
	}
	out.Acceleration = AccelerationHead(p.r.Blend.Density, p.s.Acceleration, p.s.Feed.Forward)
	return p.outlet()
}

func (p *planner) outlet() error {
	out := &p.r.Pressures
	need := func(q quantity.Flow) quantity.Gauge {
		return out.Rail + quantity.Gauge(p.s.Feed.Loss(q, p.r.Blend).Total+out.Acceleration)
	}
	out.FeedFlow = p.r.Demand.Volume
	if p.s.place() == AfterRail {
		q, err := p.circulating(need)
		if err != nil {
			return err
		}
		out.FeedFlow = max(q, out.FeedFlow)
	}
	out.Feed = p.s.Feed.Loss(out.FeedFlow, p.r.Blend)
	out.Computed = need(out.FeedFlow)
	out.Outlet = out.Computed
	if p.s.OutletPressure != 0 {
		if p.s.OutletPressure < out.Computed*(1-quantity.Gauge(OutletTolerance)) {
			return fmt.Errorf("planned outlet pressure: %s is less than the %s that rail, line and parts need", quantity.Text(p.s.OutletPressure), quantity.Text(out.Computed))
		}
		out.Outlet = p.s.OutletPressure
	}
	return nil
}

// circulating is the flow of new pumps through the feed at full load.
func (p *planner) circulating(need func(quantity.Flow) quantity.Gauge) (quantity.Flow, error) {
	gives := func(outlet quantity.Gauge) (quantity.Flow, error) {
		rise := quantity.Difference(outlet)
		v, err := p.terminal(rise)
		if err != nil {
			return 0, err
		}
		return p.bank.flow(rise, v, false, false)
	}
	most, err := gives(need(0))
	if err != nil {
		return 0, err
	}
	var failed error
	q := crossing(0, most, func(q quantity.Flow) float64 {
		got, err := gives(need(q))
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
	rise := quantity.Difference(p.r.Pressures.Outlet)
	v, err := p.terminal(rise)
	if err != nil {
		return err
	}
	fresh, err := p.bank.flow(rise, v, false, true)
	if err != nil {
		return err
	}
	aged, err := p.bank.flow(rise, v, true, true)
	if err != nil {
		return err
	}
	d := &p.r.Delivery
	*d = Delivery{Voltage: v, New: fresh, Flow: aged, Margin: quantity.Fraction(aged / p.r.Demand.Volume), Power: HydraulicPower(rise, fresh)}
	if fresh > 0 {
		d.Left = quantity.Fraction(aged / fresh)
	}
	if len(p.s.Pumps) > 1 && p.bank.arrangement != Series {
		d.Single, err = p.single(rise, v)
	}
	return err
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
	i, err := p.s.Injectors.inject(p.r.Demand.Mass, p.r.Blend.Density, p.r.Pressures.Across, p.injectorVoltage(), p.s.Engine.SpeedMax)
	if err != nil {
		return err
	}
	if i.AssumedTest {
		p.note("injectors: test fluid not said, n-heptane assumed, the low side")
	}
	p.r.Injection = &i
	if idle := p.s.Engine.Idle; idle != nil {
		across := p.s.Regulator.Across(idle.Manifold, p.r.Barometer)
		i.Idle, err = p.s.Injectors.idle(*idle, p.r.Blend.Density, across, p.injectorVoltage())
	}
	return err
}

// injectorVoltage is the source where known; the injectors do not hang on the pump's wire.
func (p *planner) injectorVoltage() quantity.Voltage {
	if p.s.Supply.Source != 0 {
		return p.s.Supply.Source
	}
	return p.s.Supply.Terminal
}

func (p *planner) electrical() error {
	rise := quantity.Difference(p.r.Pressures.Outlet)
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

func (p *planner) lines() error {
	p.r.Velocities.Feed = p.r.Pressures.Feed.Velocity
	d := &p.r.Distances
	if relief := p.bank.relief(); relief > 0 {
		d.Relief, d.ReliefKnown = relief-quantity.Difference(p.r.Pressures.Outlet), true
	}
	if p.s.Feed.Rating > 0 {
		d.HoseRatio, d.HoseKnown = quantity.Fraction(p.s.Feed.Rating/p.r.Pressures.Outlet), true
	}
	return nil
}

// idle sends the whole flow of new pumps at the source's full voltage back
// through the return, with the rail at its lowest.
func (p *planner) idle() error {
	if p.s.Return == nil {
		return nil
	}
	rail, burnt := p.r.Pressures.Rail, quantity.Flow(0)
	if p.s.Carburettor == nil {
		rail = p.s.Regulator.Base
	}
	if idle := p.s.Engine.Idle; idle != nil && p.s.Carburettor == nil {
		rail = p.s.Regulator.Rail(idle.Manifold, p.r.Barometer)
		burnt = VolumeFlow(idle.Fuel, p.r.Blend.Density)
	}
	q, outside, err := p.idleFlow(rail)
	if err != nil {
		return err
	}
	q = max(0, q-burnt)
	loss := p.s.Return.Loss(q, p.r.Blend)
	back := quantity.Gauge(loss.Total)
	lowest := back
	for _, d := range p.s.Regulator.WideOpen {
		lowest += quantity.Gauge(d.Loss(q))
	}
	p.r.Velocities.Return = loss.Velocity
	p.r.Idle = &IdleReturn{Rail: rail, Flow: q, Loss: loss, BackPressure: back, Lowest: lowest, Holds: lowest < rail, Extrapolated: outside}
	return nil
}

// idleFlow is what new pumps give at idle, through the feed, and whether
// their curves had to be carried on below the lowest measured pressure.
func (p *planner) idleFlow(rail quantity.Gauge) (q quantity.Flow, outside bool, err error) {
	v := p.r.Delivery.Voltage
	rise := func(q quantity.Flow) quantity.Difference {
		return quantity.Difference(rail) + p.s.Feed.Loss(q, p.r.Blend).Total
	}
	most, err := p.bank.flow(quantity.Difference(rail), v, false, false)
	if err != nil {
		return 0, false, err
	}
	var failed error
	q = crossing(0, most, func(q quantity.Flow) float64 {
		got, err := p.bank.flow(rise(q), v, false, false)
		if err != nil {
			failed = err
		}
		return float64(got - q)
	})
	low, _ := p.bank.curves[0].Range(v)
	return q, rise(q) < low, failed
}

func (p *planner) suction() error {
	var state *SuctionState
	if p.s.Suction != nil {
		q := p.r.Delivery.New
		if p.s.place() == BeforeRail && p.s.Return == nil {
			q = p.r.Demand.Volume
		}
		loss := p.s.Suction.Line.Loss(q, p.r.Blend)
		state = &SuctionState{Flow: q, Loss: loss, Vacuum: loss.Total}
		p.r.Velocities.Suction = loss.Velocity
	}
	p.r.Suction = state
	var err error
	p.r.Vapour, err = p.s.vapour(p.r.Blend, p.r.Barometer, state)
	return err
}

func (p *planner) tank() error {
	if p.s.Tank != nil {
		t, err := p.s.Tank.state(p.r.Demand.Volume, p.r.Delivery.New, p.r.Electrical.Power, p.r.Blend)
		if err != nil {
			return err
		}
		p.r.Tank = &t
	}
	if p.s.Surge == nil {
		return nil
	}
	state, err := p.s.Surge.state(p.r.Demand.Volume, p.bank.hot)
	if err != nil {
		return err
	}
	p.r.Surge = &state
	return nil
}
