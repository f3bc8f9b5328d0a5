package fuel

import (
	"fmt"

	"feedproof/schema/quantity"
)

// State is the whole system solved at one load, altitude and fuel temperature,
// with new pumps.
type State struct {
	Load      string // [AtFullLoad] or [AtIdle]
	Altitude  string // "sea level" or the envelope's
	Fuel      string // its temperature
	Operation Operation
}

func (s State) String() string { return s.Load + ", " + s.Altitude + ", fuel at " + s.Fuel }

// Highest is the most pressure that each place sees in any of the states, and
// the state that it sees it in.
type Highest struct {
	Rail          quantity.Gauge // where the regulator holds it, or a carburettor's inlet
	RailAt        string
	Outlet        quantity.Gauge // at the pump, running
	OutletAt      string
	Deadhead      quantity.Gauge // at the pump with the line shut: its relief
	DeadheadKnown bool
}

// worst solves the states of the envelope and keeps the worst of each place:
// full load and idle, at sea level and at the envelope's altitude, with cold
// and with hot fuel. The planned outlet pressure and the regulated rail count
// among them.
func (p *planner) worst() error {
	h := &p.r.Highest
	*h = Highest{Rail: max(p.r.Pressures.Regulated, p.base()), RailAt: AtFullLoad + ", as planned", Outlet: p.r.Pressures.Outlet, OutletAt: AtFullLoad + ", as planned"}
	if relief := p.bank.relief(); relief > 0 {
		h.Deadhead, h.DeadheadKnown = quantity.Gauge(relief), true
	}
	if !p.quick && p.s.Carburettor == nil {
		if err := p.states(); err != nil {
			return err
		}
	}
	p.distances()
	return nil
}

// base is what the rail has with the engine off and the reference at the
// barometer; a carburettor has its own.
func (p *planner) base() quantity.Gauge {
	if p.s.Carburettor != nil {
		return p.s.Carburettor.Pressure
	}
	return p.s.Regulator.Base
}

func (p *planner) states() error {
	sites := []Site{{Barometer: SeaLevel}}
	if p.r.Barometer != SeaLevel {
		sites = append(sites, p.s.Site)
	}
	for _, site := range sites {
		for _, cold := range []bool{false, true} {
			if err := p.statesAt(site, cold); err != nil {
				return err
			}
		}
	}
	return nil
}

func (p *planner) statesAt(site Site, cold bool) error {
	q := *p
	if cold {
		c, err := p.cold()
		if err != nil {
			return err
		}
		q = *c
	}
	var err error
	if q.r.Barometer, err = site.barometer(); err != nil {
		return err
	}
	q.breathe()
	name := State{Altitude: siteName(site), Fuel: p.fuelName(cold)}
	for _, load := range []struct {
		name string
		at   Point
	}{{AtFullLoad, Point{q.r.Manifold, q.r.Demand.Mass, q.r.Delivery.Voltage, true}}, {AtIdle, q.idlePoint()}} {
		name.Load = load.name
		o, err := q.operate(load.at)
		if err != nil {
			return fmt.Errorf("%s: %w", name, err)
		}
		name.Operation = o
		p.r.States = append(p.r.States, name)
		p.r.Highest.see(name)
	}
	return nil
}

func siteName(s Site) string {
	switch {
	case s.Barometer == SeaLevel:
		return "sea level"
	case s.Barometer != 0:
		return quantity.Text(s.Barometer)
	}
	return quantity.Format(s.Altitude, "m", 0)
}

func (p *planner) fuelName(cold bool) string {
	switch {
	case cold:
		return quantity.Format(ColdFuel, "degC", 0)
	case p.s.Fuel.Temperature == 0:
		return quantity.Format(Reference, "degC", 0)
	}
	return quantity.Format(p.s.Fuel.Temperature, "degC", 0)
}

// roundOff is a difference that says nothing about which state is worse.
const roundOff = 1e-6

func (h *Highest) see(s State) {
	if s.Operation.Regulated > h.Rail*(1+roundOff) {
		h.Rail, h.RailAt = s.Operation.Regulated, s.String()
	}
	if s.Operation.Outlet > h.Outlet*(1+roundOff) {
		h.Outlet, h.OutletAt = s.Operation.Outlet, s.String()
	}
}

// distances are how far relief and hose lie from the highest outlet pressure.
func (p *planner) distances() {
	d, outlet := &p.r.Distances, p.r.Highest.Outlet
	if relief := p.bank.relief(); relief > 0 {
		d.Relief, d.ReliefKnown = relief-quantity.Difference(outlet), true
	}
	if p.s.Feed.Rating > 0 {
		d.HoseRatio, d.HoseKnown = quantity.Fraction(p.s.Feed.Rating/outlet), true
	}
}

// HighestRegulated is the highest pressure that a regulator holds at a manifold
// pressure, over the barometer of the site.
func HighestRegulated(r Regulator, manifold quantity.Absolute, site Site) (quantity.Gauge, error) {
	barometer, err := site.barometer()
	if err != nil {
		return 0, err
	}
	return max(r.Base, r.Rail(Engine{ManifoldMax: manifold}.manifold(barometer), barometer)), nil
}
