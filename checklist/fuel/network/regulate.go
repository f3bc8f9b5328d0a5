package network

import (
	"fmt"
	"math"
)

// switchRegulators lets every regulator take the state its neighbours ask for
// and reports whether any changed.
func (n *Network) switchRegulators() bool {
	changed := false
	for i := range n.links {
		l := &n.links[i]
		if !l.regulates() {
			continue
		}
		next := n.wants(l, n.flow[i])
		if next == l.state {
			continue
		}
		changed = true
		l.state = next
		if next == open && n.flow[i] <= 0 {
			n.flow[i] = 1e-6
		}
		if next == shut {
			n.flow[i] = 0
		}
	}
	return changed
}

// wants is the state that fits the pressures around a regulator.
func (n *Network) wants(l *link, q float64) state {
	up, down := n.head[l.from], n.head[l.to]
	set := n.nodes[n.controlled(l)].elevation + l.setting
	wideOpen, _ := powerLoss(l.minor, l.exponent, math.Max(q, 0))
	if l.kind == backPressure {
		return wantsBackPressure(l.state, up, down, set, wideOpen, q)
	}
	return wantsReducing(l.state, up, down, set, wideOpen, q)
}

func wantsBackPressure(s state, up, down, set, wideOpen, q float64) state {
	switch {
	case s != shut && q < -flowSlip:
		return shut
	case s == holding && down+wideOpen > set+pressureSlip:
		return open
	case s == open && up < set-pressureSlip:
		return holding
	case s == shut && up > set+pressureSlip && up > down+pressureSlip:
		if down >= set {
			return open
		}
		return holding
	}
	return s
}

func wantsReducing(s state, up, down, set, wideOpen, q float64) state {
	switch {
	case s != shut && q < -flowSlip:
		return shut
	case s == holding && up-wideOpen < set-pressureSlip:
		return open
	case s == open && down > set+pressureSlip:
		return holding
	case s == shut && down < set-pressureSlip && up > down+pressureSlip:
		if up < set {
			return open
		}
		return holding
	}
	return s
}

// tryStates goes through all combinations of states when switching one by one
// goes round in circles, and keeps the first that asks for no change.
func (n *Network) tryStates() error {
	var regulators []*link
	for i := range n.links {
		if n.links[i].regulates() {
			regulators = append(regulators, &n.links[i])
		}
	}
	combinations := int(math.Pow(3, float64(min(len(regulators), 7))))
	for c := range combinations {
		rest := c
		for _, l := range regulators {
			l.state = state(rest % 3)
			rest /= 3
		}
		if n.settle() == nil && n.steady(regulators) {
			return n.Check()
		}
	}
	return fmt.Errorf("network: regulator %s finds no state that fits its neighbours", regulators[0].name)
}

func (n *Network) steady(regulators []*link) bool {
	for i := range n.links {
		if l := &n.links[i]; l.regulates() && n.wants(l, n.flow[i]) != l.state {
			return false
		}
	}
	return true
}

// Check holds the last solution against both conservation laws and the
// regulators' settings, from the flows and pressures alone. [Network.Solve]
// ends with it.
func (n *Network) Check() error {
	for i := range n.nodes {
		if n.nodes[i].fixed {
			continue
		}
		if off := n.surplus(Node(i), n.flow); !(math.Abs(off) <= massLimit) {
			return fmt.Errorf("network: at %s %.3g m3/s are gained or lost", n.nodes[i].name, off)
		}
	}
	for i := range n.links {
		if err := n.checkLink(&n.links[i], n.flow[i]); err != nil {
			return err
		}
	}
	return nil
}

func (n *Network) checkLink(l *link, q float64) error {
	drop := n.head[l.from] - n.head[l.to]
	if l.state == holding {
		c := n.controlled(l)
		off := n.head[c] - n.nodes[c].elevation - l.setting
		if !(math.Abs(off) <= pressureSlip) || q < -flowSlip || drop < -pressureSlip {
			return fmt.Errorf("network: %s does not hold its setting, by %.3g Pa at %.3g m3/s", l.name, off, q)
		}
		return nil
	}
	y, _ := n.loss(l, q)
	if !(mismatch(l, q, y, drop) <= 10*energyLimit) {
		return fmt.Errorf("network: along %s the loss is %.6g Pa and the pressure difference %.6g Pa", l.name, y, drop)
	}
	return nil
}
