package fuel

import (
	"fmt"
	"math"
	"slices"

	"feedproof/checklist/fuel/network"
	"feedproof/schema/quantity"
)

// Hydraulics is the system solved as a network at full power and at idle.
type Hydraulics struct {
	Full Operation
	Idle *Operation // nil without an idle
}

// Operation is one steady state of the whole system.
type Operation struct {
	Across      []quantity.Difference // each injector, first to last, rail by rail
	Flows       []quantity.Flow       // each injector
	Lowest      quantity.Difference
	Highest     quantity.Difference
	RailToRail  quantity.Difference // between the means of the rails
	Fed         quantity.Fraction   // what the injectors get over what they ask for
	Pump        quantity.Flow
	Outlet      quantity.Gauge // at the pump
	Return      quantity.Flow  // past the regulator
	BackPoint   quantity.Gauge // behind the regulator; zero without a return
	Regulated   quantity.Gauge // at the point the regulator holds
	Holds       bool           // the regulator sets the pressure there
	BeyondCurve bool           // the pump works outside its measured pressures
}

// Point is where a system is run: what a plan asks, or a line of a datalog.
type Point struct {
	Manifold quantity.Absolute
	Fuel     quantity.MassFlow // burnt
	Voltage  quantity.Voltage  // at the pumps
	New      bool              // pumps as measured, not aged
}

// Operate solves a system as a network at a point. Injectors are orifices
// against the manifold, opened so far that they flow the fuel at the regulated
// pressure difference; when pressure falls short they flow less. The regulator
// sits after the rails with a return line; without one it sits in the module in
// the tank and spills the surplus there, so the line's loss comes off the rail.
// Rails given as none are one point.
func Operate(s System, at Point) (Operation, error) {
	p := planner{s: s, quick: true}
	if s.Carburettor != nil {
		return Operation{}, fmt.Errorf("system: a carburetted one has no rail to solve")
	}
	if err := p.start(); err != nil {
		return Operation{}, err
	}
	return p.operate(at)
}

func (p *planner) hydraulics() error {
	if p.quick && !p.whole || p.s.Carburettor != nil {
		return nil
	}
	full, err := p.operate(Point{p.r.Manifold, p.r.Demand.Mass, p.r.Delivery.Voltage, false})
	if err != nil {
		return err
	}
	p.r.Hydraulics = &Hydraulics{Full: full}
	if p.s.Engine.Idle == nil || p.quick {
		return nil
	}
	if p.idles == nil {
		idle, err := p.operate(p.idlePoint())
		if err != nil {
			return err
		}
		p.idles = &idle
	}
	p.r.Hydraulics.Idle = p.idles
	return nil
}

// circuit is a system as a network, with the elements that are read afterwards.
type circuit struct {
	net       *network.Network
	injectors []network.Node
	orifices  []network.Link
	perRail   []int
	outlet    network.Node
	sensed    network.Node
	back      network.Node
	pump      network.Link
	regulator network.Link
	returns   bool
	draw      func(node network.Node, place int) // what an injector takes
}

// operate solves the system at a point: see [Operate].
func (p *planner) operate(at Point) (Operation, error) {
	across := p.s.Regulator.Across(at.Manifold, p.r.Barometer)
	if across <= 0 {
		return Operation{}, fmt.Errorf("regulator: under a manifold of %s no pressure is left across the injectors", quantity.Text(at.Manifold))
	}
	need := VolumeFlow(at.Fuel, p.r.Blend.Density)
	c, low, high, err := p.circuit(at, need, across)
	if err != nil {
		return Operation{}, err
	}
	if err := c.net.Solve(); err != nil {
		return Operation{}, err
	}
	o := c.read(quantity.Gauge(at.Manifold - p.r.Barometer))
	rise := p.rise(o.Outlet, o.Pump)
	o.BeyondCurve = rise < low || rise > high
	var fed quantity.Flow
	for _, q := range o.Flows {
		fed += q
	}
	if need > 0 {
		o.Fed = quantity.Fraction(fed / need)
	}
	return o, nil
}

// circuit builds the network with injectors as orifices and the regulator
// working.
func (p *planner) circuit(at Point, need quantity.Flow, across quantity.Difference) (*circuit, quantity.Difference, quantity.Difference, error) {
	curve, low, high, err := p.bank.table(at.Voltage, !at.New)
	if err != nil {
		return nil, 0, 0, err
	}
	c := p.newCircuit()
	n, height := c.net, p.height()
	tank, inlet := p.inlet(n)
	c.outlet = n.Junction("pump outlet", 0, 0)
	c.pump = n.Pump("pumps", inlet, c.outlet, curve)
	set := p.s.Regulator.Rail(at.Manifold, p.r.Barometer)
	if !c.returns {
		c.sensed = c.outlet
		c.regulator = n.BackPressure("regulator", c.outlet, inlet, set, 0, 0)
	}
	plenum := n.Tank("manifold", height, quantity.Gauge(at.Manifold-p.r.Barometer))
	coefficient := float64(need) / float64(p.s.Injectors.Count) / math.Sqrt(float64(across))
	c.draw = func(node network.Node, place int) {
		c.orifices = append(c.orifices, n.Orifice(fmt.Sprintf("injector %d", place), node, plenum, coefficient, 0.5, true))
	}
	rail := lay(n, "feed", p.s.Feed, c.outlet, height)
	ends := p.rails(c, rail, height)
	if c.returns {
		p.returnSide(c, tank, rail, ends, height, set)
	}
	return c, low, high, nil
}

func (p *planner) newCircuit() *circuit {
	fluid := network.Fluid{Density: p.r.Blend.Density, Viscosity: p.r.Blend.Viscosity, Friction: churchillSlope}
	return &circuit{net: network.New(fluid), returns: p.s.Return != nil}
}

// height of the rail over the pump as the fuel feels it: forward counts while
// the car accelerates.
func (p *planner) height() quantity.Length {
	return p.s.Feed.Rise + p.s.Feed.Forward*quantity.Length(float64(p.s.Acceleration)/quantity.G)
}

// inlet adds the tank, and the suction line where the pump sits outside it.
func (p *planner) inlet(n *network.Network) (tank, inlet network.Node) {
	s := p.s.Suction
	if s == nil {
		tank = n.Tank("tank", 0, 0)
		return tank, tank
	}
	tank = n.Tank("tank", s.Level-s.Line.Rise, quantity.Gauge(s.OverVented))
	return tank, lay(n, "suction", s.Line, tank, 0)
}

// needs is the state that the plan asks for: the injectors get what the engine
// takes, and the regulator holds. With a return line new pumps send what they
// give at that pressure round; pumps that give too little are taken to give
// the demand, so that the outlet pressure is what the demand needs.
func (p *planner) needs(v quantity.Voltage) (Needs, error) {
	if p.s.Return != nil {
		table, _, _, err := p.bank.table(v, false)
		if err != nil {
			return Needs{}, err
		}
		if n, err := p.needed(&table, 0); err != nil || n.Flow >= p.r.Demand.Volume {
			return n, err
		}
	}
	return p.needed(nil, p.r.Demand.Volume)
}

// Needs is a solved state in which the injectors get what the engine takes.
type Needs struct {
	Flow    quantity.Flow  // through the pump and the feed
	Outlet  quantity.Gauge // at the pump
	Rail    quantity.Gauge // at the injector with the least pressure across it
	Lowest  quantity.Difference
	Highest quantity.Difference
}

// needed solves that state with the pumps, or with a flow in their place.
func (p *planner) needed(pump *network.Table, through quantity.Flow) (Needs, error) {
	demand, set := p.r.Demand.Volume, p.s.Regulator.Rail(p.r.Manifold, p.r.Barometer)
	c := p.newCircuit()
	n, height := c.net, p.height()
	each := demand / quantity.Flow(p.s.Injectors.Count)
	drawn := map[network.Node]quantity.Flow{}
	c.draw = func(node network.Node, _ int) {
		drawn[node] += each
		n.SetDemand(node, drawn[node])
	}
	c.outlet = n.Junction("pump outlet", 0, -through)
	if pump != nil {
		n.SetDemand(c.outlet, 0)
		_, inlet := p.inlet(n)
		c.pump = n.Pump("pumps", inlet, c.outlet, *pump)
	}
	rail := lay(n, "feed", p.s.Feed, c.outlet, height)
	c.sensed = c.outlet
	ends := p.rails(c, rail, height)
	if c.returns {
		c.sensed = p.sensed(n, rail, ends, height)
	}
	n.Hold(c.sensed, set)
	if err := n.Solve(); err != nil {
		return Needs{}, err
	}
	out := Needs{Flow: through, Outlet: n.Pressure(c.outlet)}
	if pump != nil {
		out.Flow = n.Flow(c.pump)
	}
	boost := quantity.Difference(p.r.Manifold - p.r.Barometer)
	for i, id := range c.injectors {
		d := quantity.Difference(n.Pressure(id)) - boost
		if i == 0 || d < out.Lowest {
			out.Lowest, out.Rail = d, n.Pressure(id)
		}
		out.Highest = max(out.Highest, d)
	}
	return out, nil
}

// sensed is the point at which a regulator with a return line holds its
// pressure: behind the rails, or before them.
func (p *planner) sensed(n *network.Network, rail network.Node, ends []network.Node, height quantity.Length) network.Node {
	if p.s.place() != AfterRail {
		return rail
	}
	if len(ends) == 1 {
		return ends[0]
	}
	inlet := n.Junction("regulator inlet", height, 0)
	for i, e := range ends {
		p.join(n, fmt.Sprintf("rail %d to regulator", i+1), e, inlet)
	}
	return inlet
}

// returnSide adds the back-pressure regulator and the return line.
func (p *planner) returnSide(c *circuit, tank, rail network.Node, ends []network.Node, height quantity.Length, set quantity.Gauge) {
	n := c.net
	c.sensed = p.sensed(n, rail, ends, height)
	c.back = n.Junction("regulator outlet", height, 0)
	var loss quantity.Difference
	var flow quantity.Flow
	if len(p.s.Regulator.WideOpen) > 0 {
		flow = p.s.Regulator.WideOpen[0].Flow
		for _, d := range p.s.Regulator.WideOpen {
			loss += d.Loss(flow)
		}
	}
	c.regulator = n.BackPressure("regulator", c.sensed, c.back, set, loss, flow)
	end := lay(n, "return", *p.s.Return, c.back, 0)
	n.Pipe("return end", end, tank, network.Pipe{Bore: p.s.Return.Bore, Minor: 1e-3})
}

// lay adds a line with its parts from a node and returns its far end.
func lay(n *network.Network, name string, l Line, from network.Node, height quantity.Length) network.Node {
	for _, d := range l.Drops {
		if d.Difference <= 0 {
			continue
		}
		next := n.Junction(name+" after "+d.Name, 0, 0)
		n.Loss(d.Name, from, next, d.Difference, d.Flow, false)
		from = next
	}
	end := n.Junction(name+" end", height, 0)
	n.Pipe(name, from, end, piping(l))
	return end
}

// piping is a line as a pipe; one without length or fittings gets a trace of loss.
func piping(l Line) network.Pipe {
	k := l.K
	if l.Length == 0 && k == 0 {
		k = 1e-3
	}
	return network.Pipe{Length: l.Length, Bore: l.Bore, Roughness: quantity.Length(l.roughness()), Minor: k}
}

func (p *planner) join(n *network.Network, name string, from, to network.Node) {
	n.Pipe(name, from, to, piping(p.s.Rails.Link))
}

// rails adds the rails and their injectors and returns their far ends.
func (p *planner) rails(c *circuit, from network.Node, height quantity.Length) []network.Node {
	if p.s.Rails == nil {
		c.perRail = []int{p.s.Injectors.Count}
		for range p.s.Injectors.Count {
			c.injector(from)
		}
		return []network.Node{from}
	}
	rails := *p.s.Rails
	var ends []network.Node
	for r := range rails.Count {
		start := from
		if rails.Count > 1 && (rails.Arrangement == RailsInParallel || r > 0) {
			start = c.net.Junction(fmt.Sprintf("rail %d inlet", r+1), height, 0)
			p.join(c.net, fmt.Sprintf("link to rail %d", r+1), from, start)
		}
		end := p.rail(c, r, start, height)
		ends = append(ends, end)
		if rails.Arrangement == RailsInSeries {
			from = end
		}
	}
	if rails.Arrangement == RailsInSeries {
		return ends[len(ends)-1:]
	}
	return ends
}

// rail adds one rail: its injectors at even distances, the first at the inlet.
func (p *planner) rail(c *circuit, r int, start network.Node, height quantity.Length) network.Node {
	rails := *p.s.Rails
	count := p.s.Injectors.Count / rails.Count
	if r < p.s.Injectors.Count%rails.Count {
		count++
	}
	c.perRail = append(c.perRail, count)
	piece := Line{Bore: rails.Bore, Length: rails.Length / quantity.Length(max(count, 1))}
	end := start
	for i := range count {
		if i > 0 {
			next := c.net.Junction(fmt.Sprintf("rail %d injector %d", r+1, i+1), height, 0)
			c.net.Pipe(fmt.Sprintf("rail %d piece %d", r+1, i), end, next, piping(piece))
			end = next
		}
		c.injector(end)
	}
	return end
}

func (c *circuit) injector(node network.Node) {
	c.injectors = append(c.injectors, node)
	c.draw(node, len(c.injectors))
}

// read takes the state off the solved network.
func (c *circuit) read(manifold quantity.Gauge) Operation {
	o := Operation{Pump: c.net.Flow(c.pump), Outlet: c.net.Pressure(c.outlet), Regulated: c.net.Pressure(c.sensed), Holds: c.net.Holding(c.regulator)}
	for i, id := range c.injectors {
		o.Across = append(o.Across, quantity.Difference(c.net.Pressure(id)-manifold))
		o.Flows = append(o.Flows, c.net.Flow(c.orifices[i]))
	}
	o.Lowest, o.Highest = slices.Min(o.Across), slices.Max(o.Across)
	var means []quantity.Difference
	for at, k := 0, 0; k < len(c.perRail); k++ {
		var sum quantity.Difference
		for range c.perRail[k] {
			sum += o.Across[at]
			at++
		}
		if c.perRail[k] > 0 {
			means = append(means, sum/quantity.Difference(c.perRail[k]))
		}
	}
	o.RailToRail = slices.Max(means) - slices.Min(means)
	o.Return = c.net.Flow(c.regulator)
	if c.returns {
		o.BackPoint = c.net.Pressure(c.back)
	}
	return o
}
