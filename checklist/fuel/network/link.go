package network

import (
	"math"

	"feedproof/schema/quantity"
)

type kind int

const (
	pipe kind = iota
	orifice
	pump
	backPressure
	reducing
)

// state of a regulator; every other link stands open.
type state int

const (
	open state = iota
	holding
	shut
)

type link struct {
	name     string
	kind     kind
	from, to Node
	oneWay   bool
	state    state
	// pipe: laminar, quadratic with friction factor one, Reynolds per flow
	laminar, turbulent, minor, reynolds, roughness float64
	// orifice: loss = minor |q|^(exponent-1) q
	exponent float64
	curve    Curve
	setting  float64 // of a regulator, gauge
}

// Resistances that stand for shut and for nothing, in Pa s/m3. The shut one
// leaks 1.4e-5 L/h at 4 bar; the other takes 0.1 Pa at 360 L/h.
const (
	shutResistance = 1e17
	bareResistance = 1e3
)

// linearBelow is the flow under which a square law is taken as linear, m3/s:
// 0.0004 L/h.
const linearBelow = 1e-10

// Pipe describes a hose or tube with its fittings.
type Pipe struct {
	Length    quantity.Length
	Bore      quantity.Length
	Roughness quantity.Length
	Minor     float64 // sum of K on V^2/2
	Check     bool    // flows one way only
}

func (n *Network) add(l link) Link {
	if int(l.from) >= len(n.nodes) || int(l.to) >= len(n.nodes) || l.from < 0 || l.to < 0 {
		n.fail("network: %s joins a node that does not exist", l.name)
		l.from, l.to = 0, 0
	}
	if l.from == l.to {
		n.fail("network: %s begins and ends at the same node", l.name)
	}
	n.links = append(n.links, l)
	n.flow = append(n.flow, 0)
	return Link(len(n.links) - 1)
}

// Pipe adds a hose or tube: dp = (f L/D + K) rho V^2/2.
func (n *Network) Pipe(name string, from, to Node, p Pipe) Link {
	if !(p.Bore > 0) || !(p.Length >= 0) || !(p.Minor >= 0) || !(p.Roughness >= 0) {
		n.fail("network: %s has a bore, length, roughness or loss coefficient that cannot be", name)
	}
	if p.Length == 0 && p.Minor == 0 {
		n.fail("network: %s has neither length nor loss", name)
	}
	d, l, rho, nu := float64(p.Bore), float64(p.Length), float64(n.fluid.Density), float64(n.fluid.Viscosity)
	area := math.Pi / 4 * d * d
	head := rho / (2 * area * area)
	return n.add(link{
		name: name, kind: pipe, from: from, to: to, oneWay: p.Check,
		laminar:   128 * rho * nu * l / (math.Pi * d * d * d * d),
		turbulent: head * l / d, minor: head * p.Minor,
		reynolds: d / (area * nu), roughness: float64(p.Roughness) / d,
	})
}

// Orifice adds an opening with q = coefficient dp^power; power 0.5 is the
// orifice equation. A one-way orifice lets nothing back. Its coefficient is in
// m3/s per Pa^power; zero is shut.
func (n *Network) Orifice(name string, from, to Node, coefficient, power float64, oneWay bool) Link {
	if !(power > 0) {
		n.fail("network: %s has the power %g", name, power)
		power = 0.5
	}
	id := n.add(link{name: name, kind: orifice, from: from, to: to, oneWay: oneWay, exponent: 1 / power})
	n.SetOrifice(id, coefficient)
	return id
}

// SetOrifice changes the coefficient of an orifice.
func (n *Network) SetOrifice(id Link, coefficient float64) {
	l := &n.links[id]
	l.state = open
	switch {
	case coefficient == 0:
		l.state = shut
	case coefficient > 0:
		l.minor = math.Pow(coefficient, -l.exponent)
	default:
		n.fail("network: %s has the coefficient %g", l.name, coefficient)
	}
}

// Loss adds a part with dp = at (q/flow)^2, such as a filter; one-way for a check valve.
func (n *Network) Loss(name string, from, to Node, at quantity.Difference, flow quantity.Flow, oneWay bool) Link {
	if !(at > 0) || !(flow > 0) {
		n.fail("network: %s needs a drop and the flow it was measured at", name)
		at, flow = 1, 1
	}
	return n.Orifice(name, from, to, float64(flow)/math.Sqrt(float64(at)), 0.5, oneWay)
}

// Curve is a pump's pressure rise at a flow of zero or more, and its slope,
// which is negative.
type Curve interface {
	Rise(q quantity.Flow) (rise quantity.Difference, slope float64)
}

// Pump adds a pump; it lets nothing back.
func (n *Network) Pump(name string, from, to Node, c Curve) Link {
	if c == nil {
		n.fail("network: %s has no curve", name)
	}
	return n.add(link{name: name, kind: pump, from: from, to: to, oneWay: true, curve: c})
}

// BackPressure adds a regulator that lets by what keeps the pressure at from
// no higher than setting. Wide open it takes loss dp at flow (zero: nothing).
func (n *Network) BackPressure(name string, from, to Node, setting quantity.Gauge, loss quantity.Difference, flow quantity.Flow) Link {
	return n.regulator(name, backPressure, from, to, setting, loss, flow)
}

// Reducing adds a regulator that lets by what brings the pressure at to up to setting.
func (n *Network) Reducing(name string, from, to Node, setting quantity.Gauge, loss quantity.Difference, flow quantity.Flow) Link {
	return n.regulator(name, reducing, from, to, setting, loss, flow)
}

func (n *Network) regulator(name string, k kind, from, to Node, setting quantity.Gauge, loss quantity.Difference, flow quantity.Flow) Link {
	l := link{name: name, kind: k, from: from, to: to, state: holding, setting: float64(setting), exponent: 2}
	if loss > 0 && flow > 0 {
		l.minor = float64(loss) / float64(flow*flow)
	}
	id := n.add(l)
	if n.nodes[n.controlled(&n.links[id])].fixed {
		n.fail("network: %s would hold the pressure of a tank", name)
	}
	return id
}

func (l *link) regulates() bool { return l.kind == backPressure || l.kind == reducing }

// controlled is the node whose pressure a regulator holds, other the far one.
func (n *Network) controlled(l *link) Node {
	if l.kind == backPressure {
		return l.from
	}
	return l.to
}

func (n *Network) other(l *link) Node {
	if l.kind == backPressure {
		return l.to
	}
	return l.from
}

// loss is the drop of a link at a flow, and its slope, which is more than zero.
func (n *Network) loss(l *link, q float64) (y, slope float64) {
	if l.state == shut {
		return shutResistance * q, shutResistance
	}
	if l.oneWay && q < 0 {
		base := 0.0
		if l.kind == pump {
			rise, _ := l.curve.Rise(0)
			base = -float64(rise)
		}
		return base + shutResistance*q, shutResistance
	}
	switch l.kind {
	case pipe:
		return n.pipeLoss(l, q)
	case pump:
		rise, s := l.curve.Rise(quantity.Flow(q))
		return -float64(rise), math.Max(-s, bareResistance)
	case orifice:
		return powerLoss(l.minor, l.exponent, q)
	}
	y, slope = powerLoss(l.minor, l.exponent, q)
	return y + bareResistance*q, slope + bareResistance
}

func (n *Network) pipeLoss(l *link, q float64) (y, slope float64) {
	a := math.Abs(q)
	m := l.minor * a
	re := l.reynolds * a
	if re < 10 {
		r := l.laminar + m
		return r * q, math.Max(l.laminar+2*m, bareResistance)
	}
	f, exponent := n.fluid.Friction(re, l.roughness)
	t := f * l.turbulent * a
	return (t + m) * q, math.Max((2+exponent)*t+2*m, bareResistance)
}

// powerLoss is r |q|^(e-1) q, made linear under linearBelow.
func powerLoss(r, e, q float64) (y, slope float64) {
	a := math.Abs(q)
	if a < linearBelow {
		k := r * math.Pow(linearBelow, e-1)
		return k * q, k
	}
	k := r * a
	if e != 2 {
		k = r * math.Pow(a, e-1)
	}
	return k * q, e * k
}
