package datalog

import (
	"math"
	"slices"
)

// Windows of the running median. A value counts as worst only when it stood
// for the middle of so long: one sample proves nothing (common practice).
const (
	medianWindow  = 0.3 // s
	medianSamples = 3   // fewer do not make a median
	maxWindow     = 4096
	timeSlack     = 1e-6 // s, for times written with few decimals
)

// sample is a value and its time, s.
type sample struct{ at, value float64 }

// runningMedian is the median of the samples of the last 0.3 s, open at the
// old end, or of the last three of a slow channel. Above 13.6 kHz the window is
// shorter, for at most 4096 samples are kept.
//
// The largest median is all that is ever asked for. So the median itself is
// worked out only when it can exceed what was seen: when half of the samples
// or more are above it, which is kept count of. It is then mostly one of the
// two samples next above. As long as none is above, even those that no longer
// count are left where they are.
type runningMedian struct {
	samples []sample
	head    int     // of the oldest that counts
	since   float64 // s, the first sample after a reset

	bound   float64 // what samples are counted against
	above   int
	scratch []float64
}

func (m *runningMedian) reset() {
	m.samples, m.head, m.above = m.samples[:0], 0, 0
}

// into adds a sample and raises e to the median where that is larger.
func (m *runningMedian) into(e *extreme, at, value float64) bool {
	if m.above == 0 && value <= m.bound && m.bound == e.value && e.seen {
		m.append(at, value)
		return false
	}
	step := m.step(at)
	m.drop(at)
	m.append(at, value)
	if value > m.bound {
		m.above++
	}
	switch n := len(m.held()); {
	case n < medianSamples || at-m.since < medianWindow-step-timeSlack:
		return false // they do not span the window, not even but for their last step
	case !e.seen:
		return e.add(at, m.median())
	case m.bound == e.value && m.excess() < 0:
		return false
	}
	return e.add(at, m.medianFrom(e.value))
}

// step is the time since the latest sample.
func (m *runningMedian) step(at float64) float64 {
	if n := len(m.samples); n > 0 {
		return at - m.samples[n-1].at
	}
	return 0
}

// drop leaves out the samples that do not count beside one of this time.
func (m *runningMedian) drop(at float64) {
	n := len(m.samples) - m.head
	for n >= medianSamples && at-m.samples[m.head].at >= medianWindow-timeSlack || n >= maxWindow {
		if m.samples[m.head].value > m.bound {
			m.above--
		}
		m.head++
		n--
	}
}

func (m *runningMedian) append(at, value float64) {
	if len(m.samples) == 0 {
		m.since = at
	}
	if len(m.samples) == cap(m.samples) {
		m.makeRoom(at)
	}
	m.samples = append(m.samples, sample{at, value})
}

// makeRoom forgets the samples that do not count when they are half of all.
func (m *runningMedian) makeRoom(at float64) {
	if m.drop(at); 2*m.head >= len(m.samples) {
		m.samples, m.head = append(m.samples[:0], m.held()...), 0
	}
}

// held are the samples of the window.
func (m *runningMedian) held() []sample { return m.samples[m.head:] }

// holdAgainst counts the samples against a bound, and finds those next to it:
// the largest that is not above it and the two smallest that are.
func (m *runningMedian) holdAgainst(bound float64) [3]float64 {
	above, below, first, second := 0, math.Inf(-1), math.Inf(1), math.Inf(1)
	for _, s := range m.held() {
		v := s.value
		if v <= bound {
			below = larger(below, v)
			continue
		}
		above++
		if v < first {
			first, second = v, first
		} else if v < second {
			second = v
		}
	}
	m.bound, m.above = bound, above
	return [3]float64{below, first, second}
}

// excess is how many more samples are above the bound than are not.
func (m *runningMedian) excess() int { return 2*m.above - len(m.held()) }

// medianFrom is the median where it is above the bound, else the bound.
func (m *runningMedian) medianFrom(bound float64) float64 {
	near := m.holdAgainst(bound)
	switch x := m.excess(); {
	case x < 0:
		return bound
	case x >= 4:
		return m.median()
	case x%2 == 1:
		return near[(x+1)/2]
	default:
		return (near[x/2] + near[x/2+1]) / 2
	}
}

// median is the middle, or the mean of the two middles.
func (m *runningMedian) median() float64 {
	m.scratch = m.scratch[:0]
	for _, s := range m.held() {
		m.scratch = append(m.scratch, s.value)
	}
	n := len(m.scratch)
	k := n / 2
	upper := selectRank(m.scratch, k)
	if n%2 == 1 {
		return upper
	}
	return (slices.Max(m.scratch[:k]) + upper) / 2
}

// selectRank puts the value of rank k in its place, with none larger before it
// and none smaller behind, and returns it (C. A. R. Hoare, Algorithm 65, Comm.
// ACM 4 (1961) 321).
func selectRank(v []float64, k int) float64 {
	for low, high := 0, len(v)-1; low < high; {
		pivot := v[k]
		i, j := low, high
		for i <= j {
			for v[i] < pivot {
				i++
			}
			for pivot < v[j] {
				j--
			}
			if i <= j {
				v[i], v[j] = v[j], v[i]
				i++
				j--
			}
		}
		if j < k {
			low = i
		}
		if k < i {
			high = j
		}
	}
	return v[k]
}

// extreme keeps the largest value and its time. Smallest values are kept as
// the largest of their negatives.
type extreme struct {
	value, at float64
	seen      bool
}

func (e *extreme) add(at, value float64) bool {
	if e.seen && !(value > e.value) {
		return false
	}
	*e = extreme{value, at, true}
	return true
}

func (e *extreme) merge(o extreme) {
	if o.seen {
		e.add(o.at, o.value)
	}
}

// decay follows a value with a time constant. The step of most logs is even,
// so its exponential is kept.
type decay struct {
	constant     float64 // s
	value, last  float64
	seen         bool
	step, factor float64
}

func (d *decay) add(at, v float64) float64 {
	if !d.seen {
		d.value, d.last, d.seen = v, at, true
		return v
	}
	if step := at - d.last; math.Abs(step-d.step) > timeSlack*d.constant {
		d.step, d.factor = step, -math.Expm1(-step/d.constant)
	}
	d.last = at
	d.value += (v - d.value) * d.factor
	return d.value
}
