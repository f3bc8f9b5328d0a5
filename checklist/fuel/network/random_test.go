package network

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	q "feedproof/schema/quantity"
)

// Limits of what an answer may be off, judged from the parts alone, and of how
// many networks may be refused by name.
const (
	randomNetworks = 20000
	energyOff      = 10.0 // Pa
	massOff        = 1e-11
	mostRefused    = 0.005
)

// random is a network with what the test knows of each link.
type random struct {
	n      *Network
	nodes  []Node
	fixed  map[Node]bool
	demand map[Node]float64
	links  []known
}

// known is a link by its parts: what it takes at a flow, written out once more.
type known struct {
	id       Link
	from, to Node
	loss     func(q float64) float64 // nil for a regulator
	oneWay   bool
	stall    float64 // of a pump: its rise at no flow
}

// TestRandomNetworks solves networks of tanks, hoses, check valves, injectors,
// filters, pumps by table and by formula, and one regulator, drawn at random,
// and judges every answer by laws of mass and energy that are written out here.
func TestRandomNetworks(t *testing.T) {
	count := randomNetworks
	if testing.Short() {
		count = randomNetworks / 20
	}
	refused := map[string]int{}
	total := 0
	for seed := range count {
		r := draw(rand.New(rand.NewPCG(uint64(seed), 17)))
		if err := r.n.Solve(); err != nil {
			refused[err.Error()]++
			total++
			continue
		}
		if why := r.wrong(); why != "" {
			t.Errorf("network %d: %s", seed, why)
		}
	}
	t.Logf("%d of %d refused", total, count)
	if float64(total) > mostRefused*float64(count) {
		t.Errorf("%d of %d refused, at most %g allowed", total, count, mostRefused*float64(count))
		shown := 0
		for why, n := range refused {
			if shown++; shown < 12 {
				t.Logf("%d x %s", n, why)
			}
		}
	}
}

// draw makes a network: a chain from a tank through pumps and hoses to a rail,
// a regulator back, and loops between any nodes.
func draw(chance *rand.Rand) *random {
	between := func(low, high float64) float64 { return low + (high-low)*chance.Float64() }
	r := &random{n: New(gasoline(blasius)), fixed: map[Node]bool{}, demand: map[Node]float64{}}
	tank := r.tank(0)
	from := tank
	if chance.IntN(2) == 0 {
		from = r.tank(between(0, 5e5))
	}
	for i := range 1 + chance.IntN(3) {
		to := r.junction(between(-0.5, 0.5), 0)
		r.pump(chance, fmt.Sprintf("pump %d", i), from, to)
		if chance.IntN(3) > 0 {
			from = to
		}
		if chance.IntN(3) == 0 {
			r.hose(chance, from, to)
		}
	}
	for range 2 + chance.IntN(6) {
		d := 0.0
		if chance.IntN(4) == 0 {
			d = between(0, 3e-5)
		}
		to := r.junction(between(-1, 1), d)
		r.hose(chance, r.nodes[chance.IntN(len(r.nodes)-1)], to)
	}
	for range chance.IntN(5) {
		a, b := r.any(chance), r.any(chance)
		if a == b || r.fixed[a] && r.fixed[b] {
			continue
		}
		switch chance.IntN(3) {
		case 0:
			r.hose(chance, a, b)
		case 1:
			r.orifice(a, b, math.Pow(10, between(-9, -6.5)), chance.IntN(2) == 0)
		default:
			r.pump(chance, "extra pump", a, b)
		}
	}
	plenum := r.tank(between(-0.7e5, 2e5))
	for range 1 + chance.IntN(8) {
		r.orifice(r.any(chance), plenum, math.Pow(10, between(-9, -7)), true)
	}
	if chance.IntN(3) > 0 {
		if at := r.any(chance); !r.fixed[at] {
			id := r.n.BackPressure("regulator", at, tank, q.Gauge(between(0.5e5, 6e5)), 0, 0)
			r.links = append(r.links, known{id: id, from: at, to: tank})
		}
	}
	return r
}

func (r *random) tank(p float64) Node {
	id := r.n.Tank("tank", 0, q.Gauge(p))
	r.nodes, r.fixed[id] = append(r.nodes, id), true
	return id
}

func (r *random) junction(z, d float64) Node {
	id := r.n.Junction("junction", q.Length(z), q.Flow(d))
	r.nodes, r.demand[id] = append(r.nodes, id), d
	return id
}

func (r *random) any(chance *rand.Rand) Node { return r.nodes[chance.IntN(len(r.nodes))] }

func (r *random) hose(chance *rand.Rand, from, to Node) {
	if from == to {
		return
	}
	p := Pipe{Length: q.Length(0.05 + 4*chance.Float64()), Bore: q.Length((3 + 15*chance.Float64()) * q.MM), Minor: 12 * chance.Float64(), Check: chance.IntN(6) == 0}
	if r.demand[to] != 0 {
		p.Check = false
	}
	r.links = append(r.links, known{id: r.n.Pipe("hose", from, to, p), from: from, to: to, loss: func(f float64) float64 { return darcy(p, f) }, oneWay: p.Check})
}

func (r *random) orifice(from, to Node, coefficient float64, oneWay bool) {
	if from == to {
		return
	}
	id := r.n.Orifice("injector", from, to, coefficient, 0.5, oneWay)
	r.links = append(r.links, known{id: id, from: from, to: to, oneWay: oneWay,
		loss: func(f float64) float64 { return f * math.Abs(f) / (coefficient * coefficient) }})
}

func (r *random) pump(chance *rand.Rand, name string, from, to Node) {
	if from == to {
		return
	}
	stall, most := (2+8*chance.Float64())*1e5, (50+400*chance.Float64())*q.LPerH
	var c Curve
	if chance.IntN(2) == 0 {
		n := 1 + 1.5*chance.Float64()
		c = PowerLaw{Shutoff: q.Difference(stall), Coefficient: stall / math.Pow(most, n), Exponent: n, Speed: 0.7 + 0.4*chance.Float64()}
	} else {
		table, err := NewTable([]q.Flow{0, q.Flow(most * 0.6), q.Flow(most)}, []q.Difference{q.Difference(stall), q.Difference(stall * 0.7), q.Difference(stall * 0.2)}, 0.7+0.4*chance.Float64())
		if err != nil {
			panic(err)
		}
		c = table
	}
	atRest, _ := c.Rise(0)
	r.links = append(r.links, known{id: r.n.Pump(name, from, to, c), from: from, to: to, oneWay: true, stall: float64(atRest),
		loss: func(f float64) float64 { rise, _ := c.Rise(q.Flow(f)); return -float64(rise) }})
}

// wrong says which law an answer breaks; empty when it keeps all.
func (r *random) wrong() string {
	balance := map[Node]float64{}
	for _, l := range r.links {
		f := float64(r.n.Flow(l.id))
		balance[l.from] -= f
		balance[l.to] += f
		drop := float64(r.n.Drop(l.id))
		if l.loss == nil {
			if f < -leak(drop) || r.n.Holding(l.id) && drop < -1 {
				return fmt.Sprintf("the regulator lets %g m3/s by at %g Pa", f, drop)
			}
			continue
		}
		if l.oneWay && f < 1e-11 {
			if f < -leak(drop) || drop > -l.stall+energyOff {
				return fmt.Sprintf("link %d is shut with %g m3/s, and %g Pa along it would open it (at rest %g)", l.id, f, drop, l.stall)
			}
			continue
		}
		if off := drop - l.loss(f); math.Abs(off) > energyOff {
			return fmt.Sprintf("along link %d with %g m3/s the laws disagree by %g Pa", l.id, f, off)
		}
	}
	for _, n := range r.nodes {
		if !r.fixed[n] && math.Abs(balance[n]-r.demand[n]) > massOff {
			return fmt.Sprintf("node %d gains %g m3/s, drawn %g", n, balance[n], r.demand[n])
		}
	}
	return ""
}

// leak is what a shut link may let back: 1e-11 m3/s, 0.04 mL/h, at 10 bar.
func leak(drop float64) float64 { return massOff * (1 + math.Abs(drop)/1e6) }
