package datalog

import (
	"feedproof/schema/quantity"
)

// A pull's worst values are kept by manifold pressure, because how much of it
// lies within 10 % of its highest is known only when it is over.
const (
	binWidth    = 4e3 // Pa
	binCount    = 150 // up to 600 kPa abs
	gateShare   = 0.90
	leastPull   = 1.0 // s of open gate
	keptPulls   = 100
	tracePoints = 128
	traceWidth  = 0.1 // s
)

// pressureSlack is far below what any sensor tells apart, and above what is left
// of a round figure when it was written in another unit: 260.00 kPa, which is
// the edge of a bin, is read from a log in psi as 259,999.999,999,99 Pa.
const pressureSlack = 1e-3 // Pa

// binOf is the bin of a manifold pressure.
func binOf(manifold float64) int {
	return min(max(int((manifold+pressureSlack)/binWidth), 0), binCount-1)
}

// metric is a value of which the worst is wanted. All are kept so that larger
// is worse.
type metric int

const (
	xDrop      metric = iota // lowest pressure difference, negated
	xDuty                    // highest commanded duty
	xLean                    // leanest
	xRich                    // richest, negated
	xLost                    // most volts lost
	xPump                    // lowest pump voltage, negated
	xBattery                 // lowest battery voltage, negated
	xFlow                    // highest implied flow
	xCommand                 // highest pump command
	gatedCount               // of metrics that count under the gate only
)

// gated picks the gated metrics out of a moment.
func gated(m *moment) [gatedCount]float64 {
	pump, battery, command := nan, nan, nan
	if m.fresh(sPump) {
		pump = -m.v[sPump]
	}
	if m.fresh(sBattery) {
		battery = -m.v[sBattery]
	}
	if m.fresh(sCommand) {
		command = m.v[sCommand]
	}
	return [gatedCount]float64{-m.drop, m.duty, m.lean, -m.richest, m.lost, pump, battery, m.flow, command}
}

// pull gathers one loaded pull.
type pull struct {
	start, end float64
	open       float64 // s under the open gate
	opened     bool
	last       float64
	top        float64 // Pa abs, highest manifold pressure
	low        float64
	fast       float64 // turns/s
	slow       float64
	tempStart  float64
	tempEnd    float64
	medians    [gatedCount]runningMedian
	worst      [binCount][gatedCount]extreme
	slope      spanned // rail gauge against manifold absolute
	railSteps  int     // readings of rail pressure, each with the time since the one before
	trace      *trace
}

func newPull(at float64) *pull {
	return &pull{start: at, end: at, low: maxTime, slow: maxTime, tempStart: nan, tempEnd: nan, trace: newTrace(traceWidth, tracePoints)}
}

// again empties a pull for the next, keeping its memory.
func (p *pull) again(at float64) *pull {
	if p == nil {
		return newPull(at)
	}
	medians, kept := p.medians, p.trace.slices[:0]
	*p = pull{start: at, end: at, low: maxTime, slow: maxTime, tempStart: nan, tempEnd: nan, medians: medians, trace: p.trace}
	*p.trace = trace{width: traceWidth, limit: tracePoints, slices: kept}
	p.reset()
	return p
}

func (p *pull) reset() {
	for i := range p.medians {
		p.medians[i].reset()
	}
	p.opened = false
}

// add takes a moment; a moment that does not count breaks the medians.
func (p *pull) add(m *moment, state gateState, hoseOff bool) {
	p.end = m.at
	if state != gateOpen || hoseOff {
		p.reset()
		return
	}
	if p.opened {
		p.open += m.at - p.last
		if m.fresh(sRail) {
			p.railSteps++
		}
	}
	p.opened, p.last = true, m.at
	p.extent(m)
	bin := 0
	if m.manifold == m.manifold {
		bin = binOf(m.manifold)
	}
	worst := &p.worst[bin]
	for i, v := range gated(m) {
		if v != v {
			continue
		}
		p.medians[i].into(&worst[i], m.at, v)
	}
	if m.fresh(sRail) {
		p.slope.add(m.manifold, m.rail)
	}
	p.trace.add(m)
}

func (p *pull) extent(m *moment) {
	if m.manifold == m.manifold {
		p.top, p.low = max(p.top, m.manifold), min(p.low, m.manifold)
	}
	if m.fresh(sSpeed) {
		p.fast, p.slow = max(p.fast, m.v[sSpeed]), min(p.slow, m.v[sSpeed])
	}
	if m.fresh(sFuelTemp) {
		if p.tempStart != p.tempStart {
			p.tempStart = m.v[sFuelTemp]
		}
		p.tempEnd = m.v[sFuelTemp]
	}
}

// close is the pull's worst values where the manifold pressure was within 10 %
// of its highest, or a bin below.
func (p *pull) close() (worst [gatedCount]extreme) {
	for _, bin := range p.worst[binOf(gateShare*p.top):] {
		for i := range worst {
			worst[i].merge(bin[i])
		}
	}
	return worst
}

// follow keeps the pulls.
func (a *analysis) follow(m *moment, state gateState, hoseOff bool) {
	if a.g.pullOver {
		a.endPull()
	}
	if a.g.newPull && !hoseOff {
		a.beginPull(m.at)
	}
	if a.pull != nil {
		a.pull.add(m, state, hoseOff)
	}
}

func (a *analysis) beginPull(at float64) {
	a.endPull()
	a.pull, a.spare = a.spare.again(at), nil
}

func (a *analysis) endPull() {
	p := a.pull
	if p == nil {
		return
	}
	a.pull = nil
	if p.open < leastPull-timeSlack {
		a.shortPulls++
		a.spare = p
		return
	}
	worst := p.close()
	for i := range worst {
		a.worst[i].merge(worst[i])
	}
	a.pullCount++
	a.openTime += p.open
	a.railSteps += float64(p.railSteps)
	a.slopePull.merge(p.slope)
	if len(a.pulls) < keptPulls {
		a.pulls = append(a.pulls, p.public(worst))
	}
	if a.worstPull == nil || worst[xDrop].seen && (!a.worstDrop.seen || worst[xDrop].value > a.worstDrop.value) {
		a.spare, a.worstPull, a.worstDrop = a.worstPull, p, worst[xDrop]
	} else {
		a.spare = p
	}
}

// Pull is one loaded pull of a log.
type Pull struct {
	From, To   quantity.Duration // in the log's own time
	Open       quantity.Duration // how much of it counts
	Slowest    quantity.EngineSpeed
	Fastest    quantity.EngineSpeed
	Highest    quantity.Absolute          // manifold pressure
	LowestDrop Worst[quantity.Difference] // pressure across the injectors
	Duty       Worst[quantity.Fraction]
	FuelTemp   quantity.Temperature // at its end, NaN when not logged
}

func (p *pull) public(worst [gatedCount]extreme) Pull {
	return Pull{
		From: quantity.Duration(p.start), To: quantity.Duration(p.end), Open: quantity.Duration(p.open),
		Slowest: quantity.EngineSpeed(p.slow), Fastest: quantity.EngineSpeed(p.fast), Highest: quantity.Absolute(p.top),
		LowestDrop: lowest[quantity.Difference](worst[xDrop]), Duty: highest[quantity.Fraction](worst[xDuty]),
		FuelTemp: quantity.Temperature(p.tempEnd),
	}
}

// Worst is an extreme of the running median, and the time of the last sample
// of its 0.3 s. Known is false when there was nothing to judge.
type Worst[Q quantity.Quantity] struct {
	Value Q
	At    quantity.Duration
	Known bool
}

func highest[Q quantity.Quantity](e extreme) Worst[Q] {
	return Worst[Q]{Q(e.value), quantity.Duration(e.at), e.seen}
}

func lowest[Q quantity.Quantity](e extreme) Worst[Q] {
	return Worst[Q]{Q(-e.value), quantity.Duration(e.at), e.seen}
}
