package datalog

import "math"

// runs follows how long a channel shows exactly the same number: a sample held
// by the logger, not measured again.
type runs struct {
	value    float64
	n        int
	from     float64
	longest  int     // samples
	duration float64 // s of the longest
	at       float64
	inRuns   int // samples in runs that are too long
	all      int
}

// heldRun is the runs of one channel.
type heldRun struct {
	slot slot
	runs
}

// heldSamples is how often the same number may come in a row (common practice).
const heldSamples = 5

func (r *runs) add(at, v float64) {
	r.all++
	if r.n == 0 || v != r.value {
		r.value, r.n, r.from = v, 1, at
		return
	}
	r.n++
	switch {
	case r.n == heldSamples+1:
		r.inRuns += r.n
	case r.n > heldSamples+1:
		r.inRuns++
	}
	if r.n > r.longest {
		r.longest, r.duration, r.at = r.n, at-r.from, r.from
	}
}

func (r *runs) reset() { r.n = 0 }

func (r *runs) share() float64 {
	if r.all == 0 {
		return 0
	}
	return float64(r.inRuns) / float64(r.all)
}

// flat follows how long a channel stays within a band.
type flat struct {
	band, low, high float64
	from            float64
	seen            bool
	longest, at     float64
}

func (f *flat) add(at, v float64) {
	low, high := min(f.low, v), max(f.high, v)
	if !f.seen || high-low > f.band+1e-12 {
		f.low, f.high, f.from, f.seen = v, v, at, true
		return
	}
	f.low, f.high = low, high
	if d := at - f.from; d > f.longest {
		f.longest, f.at = d, f.from
	}
}

func (f *flat) reset() { f.seen = false }

// constantRail finds a rail pressure that does not move at all while the
// manifold pressure does.
type constantRail struct {
	rail, from, low, high float64
	seen                  bool
	span, at              float64 // the largest manifold span within one constant run of 1 s
}

func (c *constantRail) add(at, rail, manifold float64) {
	if !c.seen || rail != c.rail {
		c.rail, c.from, c.low, c.high, c.seen = rail, at, manifold, manifold, true
		return
	}
	c.low, c.high = min(c.low, manifold), max(c.high, manifold)
	if at-c.from >= 1 && c.high-c.low > c.span {
		c.span, c.at = c.high-c.low, c.from
	}
}

// smooth finds 3 s of running engine in which the pressure difference moves
// less than any real one: three blocks of 1 s taken together.
type smooth struct {
	blocks   [3]moments
	n        int // whole blocks
	begun    float64
	least    float64 // Pa, the least standard deviation over 3 s
	at       float64
	seen     bool
	reported bool
}

func (s *smooth) add(at, drop float64) {
	if !s.seen {
		s.blocks[2], s.begun, s.seen = moments{}, at, true
	}
	if at-s.begun >= 1-timeSlack {
		s.turn(at)
	}
	s.blocks[2].add(0, drop)
}

func (s *smooth) turn(at float64) {
	if s.n++; s.n >= 3 {
		all := s.blocks[0]
		all.merge(s.blocks[1])
		all.merge(s.blocks[2])
		if d := all.deviationY(); all.n >= 15 && (!s.reported || d < s.least) {
			s.least, s.at, s.reported = d, at-3, true
		}
	}
	s.blocks[0], s.blocks[1], s.blocks[2] = s.blocks[1], s.blocks[2], moments{}
	s.begun = at
}

func (s *smooth) reset() { *s = smooth{least: s.least, at: s.at, reported: s.reported} }

// noise is the variance of what is faster than the sample rate lets one
// follow: half the mean square of successive differences (J. von Neumann, Ann.
// Math. Stat. 12 (1941) 367). A slow slope hardly enters it.
type noise struct {
	last float64
	seen bool
	sum  float64
	n    int
}

func (n *noise) add(v float64) {
	if n.seen {
		n.sum += (v - n.last) * (v - n.last)
		n.n++
	}
	n.last, n.seen = v, true
}

func (n *noise) reset() { n.seen = false }

func (n *noise) variance() float64 {
	if n.n < 20 {
		return nan
	}
	return n.sum / float64(2*n.n)
}

// pulsation is the largest swing of the pressure difference within 0.1 s.
type pulsation struct {
	from, low, high float64
	n               int
	worst           extreme
}

const (
	pulsationBlock   = 0.1 // s
	pulsationSamples = 100 // in a block, which is 1 kHz
)

func (p *pulsation) add(at, drop float64) {
	if p.n == 0 || at-p.from >= pulsationBlock-timeSlack || at < p.from {
		if p.n >= pulsationSamples-1 {
			p.worst.add(p.from, p.high-p.low)
		}
		p.from, p.low, p.high, p.n = at, drop, drop, 0
	}
	p.low, p.high = min(p.low, drop), max(p.high, drop)
	p.n++
}

// dips counts falls of the pressure difference and whether the car was being
// thrown about, or the tank low, when they came.
type dips struct {
	now, usual decay
	inside     bool
	pushed     bool    // acceleration or level at any time in the dip
	calm       float64 // when the acceleration ended
	all        int
	withG      int
	deepest    extreme
}

const (
	dipDepth = 0.10e5 // Pa below the mean of the last seconds
	dipNow   = 0.1    // s, of the value that dips
	dipUsual = 5.0    // s, of that mean
	sloshG   = 0.7 * 9.80665
	sloshEnd = 1.0 // s in which it recovers
)

func newDips() dips {
	return dips{now: decay{constant: dipNow}, usual: decay{constant: dipUsual}, calm: -maxTime}
}

func (d *dips) add(at, drop float64, pushed bool) {
	if pushed {
		d.calm = at
	}
	now := d.now.add(at, drop)
	if !d.inside {
		d.usual.add(at, now)
	}
	depth := d.usual.value - now
	switch {
	case d.inside:
		d.pushed = d.pushed || pushed
		d.follow(at, depth)
	case depth > dipDepth:
		d.inside, d.pushed = true, at-d.calm <= medianWindow
		d.usual.seen = false // follows again from where the dip ends
	}
}

func (d *dips) follow(at, depth float64) {
	d.deepest.add(at, depth)
	if depth > dipDepth/2 {
		if at-max(d.calm, d.usual.last) > 2*dipUsual {
			d.inside = false // not a dip: it stays down
		}
		return
	}
	d.inside = false
	d.all++
	if d.pushed && at-d.calm <= sloshEnd+medianWindow {
		d.withG++
	}
}

func (d *dips) reset() { d.now.seen, d.usual.seen, d.inside = false, false, false }

// stage looks at what changes when the second stage is commanded on.
type stage struct {
	drop, current, pump ring
	on                  bool
	seen                bool
	since               float64
	before              [3]float64
	waiting             bool
	starts              int
	step                extreme // largest change of the pressure difference, as size
	signed              float64
	dead                int // starts at which nothing changed
	judged              int // starts with a pump current to judge
}

const stageSettle = 0.5 // s

func (s *stage) add(m *moment) {
	command := m.near(sStage)
	if command != command {
		return
	}
	on := command >= 0.5
	if on && !s.on && s.seen {
		s.starts++
		s.before = [3]float64{s.drop.mean(), s.current.mean(), s.pump.mean()}
		s.since, s.waiting = m.at, true
		s.drop.reset()
	}
	s.on, s.seen = on, true
	if m.drop == m.drop {
		s.drop.add(m.at, m.drop)
	}
	if m.fresh(sCurrent) {
		s.current.add(m.at, m.v[sCurrent])
	}
	if m.fresh(sPump) {
		s.pump.add(m.at, m.v[sPump])
	}
	if s.waiting && m.at-s.since >= stageSettle {
		s.waiting = false
		s.judge(m.at)
	}
}

func (s *stage) judge(at float64) {
	drop := s.drop.mean() - s.before[0]
	current := s.current.mean() - s.before[1]
	if drop == drop && (!s.step.seen || math.Abs(drop) > s.step.value) {
		s.step.add(at, math.Abs(drop))
		s.signed = drop
	}
	if current != current {
		return
	}
	s.judged++
	pump := s.pump.mean() - s.before[2]
	if math.Abs(current) < 0.5 && !(math.Abs(drop) >= 0.02e5) && !(math.Abs(pump) >= 0.1) {
		s.dead++
	}
}

// stopping measures how long the pump runs on after the engine stops.
type stopping struct {
	ran     bool
	stopped float64
	waiting bool
	seen    bool // a stop was seen to its end
	never   bool // the log ends, 5 s or more after, with the pump running
	longest float64
	at      float64
	pumpOn  bool
	known   bool
}

func (s *stopping) add(m *moment, speed float64) {
	on, known := pumpRuns(m)
	if !known {
		return
	}
	s.known, s.pumpOn = true, on
	switch {
	case speed > runningSpeed:
		s.ran, s.waiting = true, false
	case s.ran && speed < stillSpeed && !s.waiting:
		s.ran, s.waiting, s.stopped = false, true, m.at
	}
	if s.waiting && !on {
		s.waiting, s.seen = false, true
		if d := m.at - s.stopped; d >= s.longest {
			s.longest, s.at = d, s.stopped
		}
	}
}

// pumpRuns says whether the pump runs, from its current, voltage or command,
// in that order of trust.
func pumpRuns(m *moment) (on, known bool) {
	if v := m.near(sCurrent); v == v {
		return v > 0.5, true
	}
	if v := m.near(sPump); v == v {
		return v > 1, true
	}
	v := m.near(sCommand)
	return v > 0.02, v == v
}

func (s *stopping) finish(at float64) {
	if s.waiting && s.pumpOn && at-s.stopped > s.longest {
		s.never = at-s.stopped >= 5
		s.longest, s.at, s.seen = at-s.stopped, s.stopped, true
	}
}
