package datalog

import "feedproof/schema/quantity"

// The gate of a loaded pull (common practice): throttle at least 90 %, engine
// speed rising or held, and 0.3 s left out after a shift or a lift, where
// spikes are to be expected. The manifold pressure within 10 % of the pull's
// highest and the least length of 1.0 s are seen when the pull is over; see
// [pull.close].
const (
	openThrottle = 0.90
	openManifold = 0.90        // of the barometer, when no throttle is logged
	fallingSpeed = -200.0 / 60 // turns/s in a second: a shift or a brake
	shiftGap     = 0.3         // s
	pullPause    = 1.5         // s closed that still belong to one pull
	runningSpeed = 400.0 / 60  // turns/s
	stillSpeed   = 50.0 / 60   // turns/s: the engine does not run
	noBarometer  = 101325.0
)

type gateState int

const (
	gateClosed gateState = iota
	gateIgnored
	gateOpen
)

// gate follows a log and says whether a moment counts.
type gate struct {
	speeds   ring
	opened   float64 // since when the condition holds
	closed   float64 // when it last stopped to hold
	last     float64 // the moment before
	holding  bool
	inPull   bool
	newPull  bool // this moment begins a pull
	pullOver bool // the pull before this moment is over
}

// add judges a moment.
func (g *gate) add(m *moment) gateState {
	g.newPull, g.pullOver = false, false
	loaded := g.loaded(m)
	switch {
	case loaded && !g.holding:
		g.opened = m.at
		if g.inPull && m.at-g.closed > pullPause {
			g.pullOver, g.inPull = true, false
		}
		g.newPull = !g.inPull
	case !loaded && g.holding:
		g.closed = m.at
	case !loaded && g.inPull && m.at-g.closed > pullPause:
		g.pullOver, g.inPull = true, false
	}
	g.holding, g.last = loaded, m.at
	switch {
	case !loaded:
		return gateClosed
	case g.newPull:
		g.inPull = true
		g.closed = -maxTime
	}
	if g.closed > -maxTime && m.at-g.opened < shiftGap-timeSlack {
		return gateIgnored
	}
	return gateOpen
}

// restart forgets what came before a gap in the log.
func (g *gate) restart() {
	g.speeds.reset()
	if g.holding {
		g.holding, g.closed = false, g.last
	}
}

func (g *gate) loaded(m *moment) bool {
	speed := m.near(sSpeed)
	if m.fresh(sSpeed) {
		g.speeds.add(m.at, speed)
	}
	if !(speed > runningSpeed) || g.speeds.rate() < fallingSpeed {
		return false
	}
	if throttle := m.near(sThrottle); throttle == throttle {
		return throttle >= openThrottle-1e-9
	}
	barometer := m.barometer
	if barometer != barometer {
		barometer = noBarometer
	}
	return m.manifold >= openManifold*barometer-pressureSlack
}

// Gate is one condition under which a worst value was taken.
type Gate struct {
	Name string
	At   quantity.Written
}

// Gates are the conditions under which the worst values of a log were taken.
func (r Result) Gates() []Gate {
	open := Gate{"throttle at least", quantity.Write(quantity.Fraction(openThrottle), "%", 0)}
	if !r.throttle {
		open = Gate{"manifold at least, of the barometer", quantity.Write(quantity.Fraction(openManifold), "%", 0)}
	}
	return []Gate{
		open,
		{"manifold at least, of the pull's highest", quantity.Write(quantity.Fraction(gateShare), "%", 0)},
		{"gate open for at least", quantity.Write(quantity.Duration(leastPull), "s", 1)},
		{"left out after a shift or lift", quantity.Write(quantity.Duration(shiftGap), "s", 1)},
		{"running median over", quantity.Write(quantity.Duration(medianWindow), "s", 1)},
	}
}
