package network

import (
	"fmt"
	"math"
	"strings"
)

// Limits of the iteration and of what counts as an answer.
const (
	maxSteps     = 200
	maxSwitches  = 30
	energyLimit  = 1e-2  // Pa, along any link
	massLimit    = 1e-11 // m3/s at any node, 0.00004 L/h
	settleLimit  = 1e-6  // of flow, relative change of the last step
	settleFloor  = 1e-13 // m3/s, change of all flows together that is rounding
	pressureSlip = 1e-1  // Pa a regulator may be off before it changes state
	shareSteps   = 40    // to find how much of a step to take
	shareEnough  = 0.1   // of its slope may be left there
	flowSlip     = 1e-11 // m3/s
)

// workspace is the memory of a solve, kept between solves.
type workspace struct {
	ready  int   // links and nodes it was made for
	size   int   // junctions
	column []int // of each node in the matrix; -1 for a tank
	matrix []float64
	rhs    []float64
	row    []int
	next   []float64
	y      []float64
	slope  []float64
}

// Solve finds pressures and flows. It fails, naming the element, when a part of
// the network hangs on no tank, when two regulators hold one node, when the
// iteration does not settle, or when the numbers do not satisfy both
// conservation laws; then pressures and flows must not be used.
func (n *Network) Solve() error {
	if err := n.prepare(); err != nil {
		return err
	}
	for range maxSwitches {
		if err := n.settle(); err != nil {
			return err
		}
		if !n.switchRegulators() {
			return n.Check()
		}
	}
	return n.tryStates()
}

func (n *Network) prepare() error {
	if n.fault != nil {
		return n.fault
	}
	size := len(n.nodes) + len(n.links)
	if n.work.ready == size {
		return nil
	}
	if err := first(n.checkTanks(), n.checkRegulators()); err != nil {
		return err
	}
	column, k := make([]int, len(n.nodes)), 0
	for i := range n.nodes {
		column[i] = -1
		if !n.nodes[i].fixed {
			column[i] = k
			k++
		}
	}
	n.work = workspace{ready: size, size: k, column: column, row: make([]int, len(n.nodes)),
		matrix: make([]float64, k*k), rhs: make([]float64, k),
		next: make([]float64, len(n.links)), y: make([]float64, len(n.links)), slope: make([]float64, len(n.links))}
	for i := range n.links {
		n.flow[i] = n.guess(&n.links[i])
	}
	return nil
}

// guess is a first flow: about 1 m/s in a pipe, a twentieth of a litre a second elsewhere.
func (n *Network) guess(l *link) float64 {
	if l.kind == pipe && l.reynolds > 0 {
		d := 4 / (math.Pi * float64(n.fluid.Viscosity) * l.reynolds)
		return 0.3 * math.Pi / 4 * d * d
	}
	return 3e-5
}

// checkTanks refuses a part of the network from which no tank can be reached.
func (n *Network) checkTanks() error {
	reached := make([]bool, len(n.nodes))
	for i := range n.nodes {
		reached[i] = n.nodes[i].fixed
	}
	for changed := true; changed; {
		changed = false
		for i := range n.links {
			a, b := n.links[i].from, n.links[i].to
			if reached[a] != reached[b] {
				reached[a], reached[b], changed = true, true, true
			}
		}
	}
	var lost []string
	for i, ok := range reached {
		if !ok {
			lost = append(lost, n.nodes[i].name)
		}
	}
	if len(lost) > 0 {
		return fmt.Errorf("network: no tank is connected to %s", strings.Join(lost, ", "))
	}
	return nil
}

// checkRegulators refuses two regulators that hold one node: how they share
// the flow is not decided by pressures.
func (n *Network) checkRegulators() error {
	for i := range n.links {
		for k := range i {
			a, b := &n.links[k], &n.links[i]
			if a.regulates() && b.regulates() && n.controlled(a) == n.controlled(b) {
				return fmt.Errorf("network: %s and %s both hold the pressure at %s", a.name, b.name, n.nodes[n.controlled(a)].name)
			}
		}
	}
	return nil
}

func first(a, b error) error {
	if a != nil {
		return a
	}
	return b
}

// settle iterates with the regulators as they stand. An answer is what the last
// step left, judged again after it.
func (n *Network) settle() error {
	change := math.Inf(1)
	for step := range maxSteps {
		worst, at := n.residual()
		if worst < energyLimit && change < settleLimit {
			return nil
		}
		change = n.step(step == 0)
		if math.IsNaN(change) {
			return fmt.Errorf("network: the equations cannot be solved at %s", n.links[at].name)
		}
	}
	worst, at := n.residual()
	return fmt.Errorf("network: no answer after %d steps; at %s the loss and the pressure difference disagree by %.3g Pa", maxSteps, n.links[at].name, worst)
}

// residual evaluates every link and finds the largest disagreement between its
// loss and the pressure difference along it.
func (n *Network) residual() (worst float64, at int) {
	w := &n.work
	for i := range n.links {
		l := &n.links[i]
		if l.state == holding {
			continue
		}
		w.y[i], w.slope[i] = n.loss(l, n.flow[i])
		off := mismatch(l, n.flow[i], w.y[i], n.head[l.from]-n.head[l.to])
		if off > worst || math.IsNaN(off) {
			worst, at = off, i
		}
	}
	return worst, at
}

// mismatch is how far a link's loss is from the pressure difference along it. A
// link that lets nothing back and carries nothing may stand under any
// pressure that would drive it back.
func mismatch(l *link, q, y, drop float64) float64 {
	if l.oneWay && q <= 0 && q > -flowSlip && l.state == open {
		return math.Max(0, drop-(y-shutResistance*q))
	}
	return math.Abs(y - drop)
}

// step solves the linearised laws, takes the heads, and moves the flows as far
// towards theirs as brings the laws nearer. The first step is taken whole: it
// brings mass into balance, and every later one leaves it so. It returns the
// relative change of flow.
func (n *Network) step(whole bool) float64 {
	if !n.assemble() || !n.work.solve(n.work.size) {
		return math.NaN()
	}
	w := &n.work
	for i := range n.nodes {
		if c := w.column[i]; c >= 0 {
			n.head[i] = w.rhs[c]
		}
	}
	for i := range n.links {
		if l := &n.links[i]; l.state != holding {
			w.next[i] = n.flow[i] + (n.head[l.from]-n.head[l.to]-w.y[i])/w.slope[i]
		}
	}
	n.regulatorFlows(w.next)
	change, total := 0.0, 0.0
	for i := range n.links {
		w.next[i] -= n.flow[i]
		change += math.Abs(w.next[i])
		total += math.Abs(w.next[i] + n.flow[i])
	}
	share := 1.0
	if !whole {
		share = n.share()
	}
	for i := range n.links {
		n.flow[i] += share * w.next[i]
	}
	return change / (total + settleFloor/settleLimit)
}

// share is how much of a step of the flows to take. Losses grow with flow, so
// the work along the step falls, then rises: the least of it is where its
// slope meets zero. A whole step that does not reach it is taken.
func (n *Network) share() float64 {
	low, high := 0.0, 1.0
	atHigh := n.along(1)
	if !(atHigh > 0) {
		return 1
	}
	atLow := n.along(0)
	if !(atLow < 0) {
		return 1
	}
	enough := shareEnough * -atLow
	for step := range shareSteps {
		x := (low*atHigh - high*atLow) / (atHigh - atLow)
		switch { // a root many sizes below the whole step is hunted by size
		case step > 1 && low == 0:
			x = high / 16
		case step > 1 && high > 4*low:
			x = math.Sqrt(low * high)
		}
		at := n.along(x)
		if math.Abs(at) <= enough {
			return x
		}
		if at > 0 {
			high, atHigh = x, at
		} else {
			low, atLow = x, at
		}
	}
	return high
}

// along is the slope of that work at a share of the step.
func (n *Network) along(share float64) float64 {
	sum := 0.0
	for i := range n.links {
		l, d := &n.links[i], n.work.next[i]
		if l.state == holding || d == 0 {
			continue
		}
		y, _ := n.loss(l, n.flow[i]+share*d)
		sum += d * (y - (n.head[l.from] - n.head[l.to]))
	}
	return sum
}

// assemble writes the linear system for the heads. Row i is the mass balance
// of node i; a held node's balance is added to the row at the other end of its
// regulator. It reports false when regulators hold one another in a ring.
func (n *Network) assemble() bool {
	w := &n.work
	clear(w.matrix)
	clear(w.rhs)
	if !n.routeRows() {
		return false
	}
	for i := range n.links {
		l := &n.links[i]
		if l.state != holding {
			g := 1 / w.slope[i]
			c := n.flow[i] - w.y[i]*g
			n.entry(l.from, l.from, l.to, g, -c)
			n.entry(l.to, l.to, l.from, g, c)
		}
	}
	for i := range n.nodes {
		if r := w.row[i]; r >= 0 {
			w.rhs[r] -= n.nodes[i].demand
		}
	}
	for i := range n.links {
		if l := &n.links[i]; l.state == holding {
			held := n.controlled(l)
			c := w.column[held]
			w.matrix[c*w.size+c], w.rhs[c] = 1, n.nodes[held].elevation+l.setting
		}
	}
	return true
}

// entry adds g(H_self - H_far) = c to the mass balance of a node.
func (n *Network) entry(of, self, far Node, g, c float64) {
	w := &n.work
	r := w.row[of]
	if r < 0 {
		return
	}
	w.rhs[r] += c
	if at := w.column[self]; at >= 0 {
		w.matrix[r*w.size+at] += g
	} else {
		w.rhs[r] -= g * n.head[self]
	}
	if at := w.column[far]; at >= 0 {
		w.matrix[r*w.size+at] -= g
	} else {
		w.rhs[r] += g * n.head[far]
	}
}

// routeRows says to which row each node's mass balance goes; -1 is none. A
// held node's goes to the other end of its regulator, and on from there.
func (n *Network) routeRows() bool {
	w := &n.work
	copy(w.row, w.column)
	for i := range n.links {
		l := &n.links[i]
		if l.state != holding {
			continue
		}
		at := n.other(l)
		for hops := 0; ; hops++ {
			if hops > len(n.links) {
				return false
			}
			next := n.heldBy(at)
			if next == nil {
				break
			}
			at = n.other(next)
		}
		w.row[n.controlled(l)] = w.column[at]
	}
	return true
}

// heldBy is the regulator that holds a node, or nil.
func (n *Network) heldBy(id Node) *link {
	for i := range n.links {
		if l := &n.links[i]; l.state == holding && n.controlled(l) == id {
			return l
		}
	}
	return nil
}

// regulatorFlows gives each holding regulator what its node has left over.
func (n *Network) regulatorFlows(flow []float64) {
	for range n.links {
		changed := false
		for i := range n.links {
			l := &n.links[i]
			if l.state != holding {
				continue
			}
			c := n.controlled(l)
			flow[i] = 0
			left := n.surplus(c, flow)
			if l.kind == reducing {
				left = -left
			}
			changed = changed || left != n.work.y[i]
			flow[i], n.work.y[i] = left, left
		}
		if !changed {
			return
		}
	}
}

// surplus is what flows into a node less what leaves it and is drawn there.
func (n *Network) surplus(id Node, flow []float64) float64 {
	sum := -n.nodes[id].demand
	for i := range n.links {
		l := &n.links[i]
		if l.to == id {
			sum += flow[i]
		}
		if l.from == id {
			sum -= flow[i]
		}
	}
	return sum
}

// solve is Gaussian elimination with partial pivoting, in place; the answer is
// left in rhs. Rows are nearly empty, so zero multipliers are skipped.
func (w *workspace) solve(k int) bool {
	a, b := w.matrix, w.rhs
	for c := range k {
		p, best := c, math.Abs(a[c*k+c])
		for r := c + 1; r < k; r++ {
			if v := math.Abs(a[r*k+c]); v > best {
				p, best = r, v
			}
		}
		if !(best > 0) {
			return false
		}
		if p != c {
			for j := c; j < k; j++ {
				a[p*k+j], a[c*k+j] = a[c*k+j], a[p*k+j]
			}
			b[p], b[c] = b[c], b[p]
		}
		top := a[c*k : c*k+k]
		for r := c + 1; r < k; r++ {
			line := a[r*k : r*k+k]
			if line[c] == 0 {
				continue
			}
			m := line[c] / top[c]
			for j := c + 1; j < k; j++ {
				line[j] -= m * top[j]
			}
			b[r] -= m * b[c]
		}
	}
	for r := k - 1; r >= 0; r-- {
		line := a[r*k : r*k+k]
		for j := r + 1; j < k; j++ {
			b[r] -= line[j] * b[j]
		}
		b[r] /= line[r]
	}
	return true
}
