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
// old end, or of the last three of a slow channel. Above 13.6 kHz the window is shorter, for at most 4096 samples are
// kept.
//
// The largest median is all that is ever asked for. So the median itself is
// worked out only when it can exceed what was seen: when half of the samples
// or more are above it, which is kept count of. It is then mostly one of the
// two samples next above.
type runningMedian struct {
	samples []sample
	head    int     // of the oldest that counts
	since   float64 // s, the first sample after a reset
	last    float64 // s, the latest

	bound   float64 // what samples are counted against
	above   int
	scratch []float64
}

func (m *runningMedian) reset() {
	m.samples, m.head, m.above = m.samples[:0], 0, 0
}

// add takes a sample, and reports whether the samples span the window, but for
// their last step.
func (m *runningMedian) add(at, value float64) bool {
	n := len(m.samples) - m.head
	if n == 0 {
		m.since, m.last = at, at
	}
	step := at - m.last
	m.last = at
	for n >= medianSamples && at-m.samples[m.head].at >= medianWindow-timeSlack || n == maxWindow {
		if m.samples[m.head].value > m.bound {
			m.above--
		}
		m.head++
		n--
	}
	if len(m.samples) == cap(m.samples) && 2*m.head >= len(m.samples) {
		m.samples = m.samples[:copy(m.samples, m.samples[m.head:])]
		m.head = 0
	}
	m.samples = append(m.samples, sample{at, value})
	if value > m.bound {
		m.above++
	}
	return n+1 >= medianSamples && at-m.since >= medianWindow-step-timeSlack
}

// held are the samples of the window.
func (m *runningMedian) held() []sample { return m.samples[m.head:] }

// into adds a sample and raises e to the median where that is larger.
func (m *runningMedian) into(e *extreme, at, value float64) bool {
	if !m.add(at, value) {
		return false
	}
	if e.seen {
		m.count(e.value)
		if m.excess() < 0 {
			return false
		}
	}
	return e.add(at, m.median())
}

// count keeps above right for a bound.
func (m *runningMedian) count(bound float64) {
	if m.bound == bound {
		return
	}
	above := 0
	for _, s := range m.held() {
		if s.value > bound {
			above++
		}
	}
	m.bound, m.above = bound, above
}

// excess is how many more samples are above the bound than are not.
func (m *runningMedian) excess() int { return 2*m.above - len(m.held()) }

// median is the middle, or the mean of the two middles.
func (m *runningMedian) median() float64 {
	if x := m.excess(); x >= 0 && x < 4 {
		near := m.nextToBound()
		if x%2 == 1 {
			return near[(x+1)/2]
		}
		return (near[x/2] + near[x/2+1]) / 2
	}
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

// nextToBound are the largest sample that is not above the bound and the two
// smallest that are.
func (m *runningMedian) nextToBound() [3]float64 {
	below, first, second := math.Inf(-1), math.Inf(1), math.Inf(1)
	for _, s := range m.held() {
		switch v := s.value; {
		case v <= m.bound:
			below = larger(below, v)
		case v < first:
			first, second = v, first
		case v < second:
			second = v
		}
	}
	return [3]float64{below, first, second}
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
