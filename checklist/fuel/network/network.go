// Package network solves the steady flow of a liquid through tanks, pumps,
// hoses, orifices, check valves and pressure regulators.
//
// Build a [Network] with nodes and links, call [Network.Solve], read pressures
// and flows; change a demand, a setting or an opening and solve again, which
// starts from the last answer and allocates nothing.
//
// The method is Newton's on the laws of mass at nodes and energy along links,
// in the form of Todini & Pilati (1988), set out in the EPANET 2.2 manual,
// chapter "Analysis algorithms". Regulators that hold a pressure take the
// place of their node's mass balance, which moves to the other end of the
// regulator. An answer is checked against both laws before it is returned.
//
// Steady and incompressible: no water hammer, no vapour. Pressures are gauge.
package network

import (
	"fmt"

	"feedproof/schema/quantity"
)

// Friction is a Darcy friction factor and its slope d ln f / d ln Re. Below a
// Reynolds number of 10 it is not asked: flow is laminar there. A law with a
// step has flows that no pressure fits, and a network may then have no answer.
type Friction func(re, roughness float64) (factor, slope float64)

// Fluid is what flows.
type Fluid struct {
	Density   quantity.Density
	Viscosity quantity.Viscosity
	Friction  Friction
	Gravity   quantity.Acceleration // zero: standard
}

// Elements are numbered in the order they were added.
type (
	// Node numbers a node.
	Node int
	// Link numbers a link.
	Link int
)

type node struct {
	name      string
	fixed     bool
	elevation float64 // as a pressure, rho g z
	demand    float64
}

// Network is a set of nodes and links. The zero value is not usable; see [New].
type Network struct {
	fluid Fluid
	nodes []node
	links []link
	head  []float64 // Pa with elevation
	flow  []float64
	work  workspace
	fault error
}

// New is an empty network. A density or viscosity of zero or less shows as an
// error of [Network.Solve].
func New(f Fluid) *Network {
	if f.Gravity == 0 {
		f.Gravity = quantity.G
	}
	n := &Network{fluid: f}
	if !(f.Density > 0) || !(f.Viscosity > 0) || f.Friction == nil {
		n.fail("network: a fluid needs density, viscosity and a friction law")
	}
	return n
}

func (n *Network) fail(format string, args ...any) {
	if n.fault == nil {
		n.fault = fmt.Errorf(format, args...)
	}
}

func (n *Network) rise(z quantity.Length) float64 {
	return float64(n.fluid.Density) * float64(n.fluid.Gravity) * float64(z)
}

// Junction adds a node whose pressure is unknown and from which a flow is drawn.
func (n *Network) Junction(name string, elevation quantity.Length, demand quantity.Flow) Node {
	n.nodes = append(n.nodes, node{name: name, elevation: n.rise(elevation), demand: float64(demand)})
	n.head = append(n.head, n.rise(elevation))
	return Node(len(n.nodes) - 1)
}

// Tank adds a node at a pressure that does not change: a tank, the air, a manifold.
func (n *Network) Tank(name string, elevation quantity.Length, p quantity.Gauge) Node {
	id := n.Junction(name, elevation, 0)
	n.nodes[id].fixed = true
	n.head[id] += float64(p)
	return id
}

// Hold makes a junction a tank: its pressure no longer changes, and what is
// drawn there no longer counts.
func (n *Network) Hold(id Node, p quantity.Gauge) {
	n.nodes[id].fixed = true
	n.SetTank(id, p)
	n.work.ready = 0
}

// Pressure at a node, of the last solution.
func (n *Network) Pressure(id Node) quantity.Gauge {
	return quantity.Gauge(n.head[id] - n.nodes[id].elevation)
}

// Flow through a link in its direction, of the last solution.
func (n *Network) Flow(id Link) quantity.Flow { return quantity.Flow(n.flow[id]) }

// Drop along a link in its direction, elevation included.
func (n *Network) Drop(id Link) quantity.Difference {
	l := n.links[id]
	return quantity.Difference(n.head[l.from] - n.head[l.to])
}

// Holding reports whether a regulator is setting its pressure, rather than
// standing wide open or shut.
func (n *Network) Holding(id Link) bool { return n.links[id].state == holding }

// SetDemand changes what is drawn at a junction.
func (n *Network) SetDemand(id Node, q quantity.Flow) { n.nodes[id].demand = float64(q) }

// SetTank changes the pressure of a tank.
func (n *Network) SetTank(id Node, p quantity.Gauge) {
	n.head[id] = n.nodes[id].elevation + float64(p)
}

// Nodes is how many there are.
func (n *Network) Nodes() int { return len(n.nodes) }
