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

// runningMedian is the median of the samples of the last 0.3 s, open at the
// old end, or of the last three of a slow channel. Above 13.6 kHz the window is shorter, for at most 4096 samples are
// kept.
//
// The largest median is all that is ever asked for. So the median itself is
// worked out only when it can exceed what was seen: when half of the samples
// or more are above it, which is kept count of.
type runningMedian struct {
	times  []float64
	values []float64
	head   int     // of the oldest that counts
	since  float64 // s, the first sample after a reset
	last   float64 // s, the latest

	bound   float64 // what samples are counted against
	above   int
	scratch []float64
}

func (m *runningMedian) reset() {
	m.times, m.values, m.head, m.above = m.times[:0], m.values[:0], 0, 0
}

// add takes a sample, and reports whether the samples span the window, but for
// their last step.
func (m *runningMedian) add(at, value float64) bool {
	n := len(m.values) - m.head
	if n == 0 {
		m.since, m.last = at, at
	}
	step := at - m.last
	m.last = at
	for n >= medianSamples && at-m.times[m.head] >= medianWindow-timeSlack || n == maxWindow {
		if m.values[m.head] > m.bound {
			m.above--
		}
		m.head++
		n--
	}
	if len(m.values) == cap(m.values) && 2*m.head >= len(m.values) {
		m.times, m.values = m.times[:copy(m.times, m.times[m.head:])], m.values[:copy(m.values, m.values[m.head:])]
		m.head = 0
	}
	m.times, m.values = append(m.times, at), append(m.values, value)
	if value > m.bound {
		m.above++
	}
	return n+1 >= medianSamples && at-m.since >= medianWindow-step-timeSlack
}

// held are the samples of the window.
func (m *runningMedian) held() []float64 { return m.values[m.head:] }

// into adds a sample and raises e to the median where that is larger.
func (m *runningMedian) into(e *extreme, at, value float64) bool {
	if !m.add(at, value) {
		return false
	}
	if !e.seen {
		return e.add(at, m.median())
	}
	m.count(e.value)
	switch n := len(m.held()); {
	case 2*m.above < n:
		return false
	case 2*m.above == n:
		return e.add(at, m.middle(e.value))
	}
	return e.add(at, m.median())
}

// middle is the median of which as many samples are above a value as are not.
func (m *runningMedian) middle(value float64) float64 {
	lower, upper := math.Inf(-1), math.Inf(1)
	for _, v := range m.held() {
		if v > value {
			upper = min(upper, v)
		} else {
			lower = max(lower, v)
		}
	}
	return (lower + upper) / 2
}

// count keeps above right for a bound.
func (m *runningMedian) count(bound float64) {
	if m.bound == bound {
		return
	}
	above := 0
	for _, v := range m.held() {
		if v > bound {
			above++
		}
	}
	m.bound, m.above = bound, above
}

// median is the middle, or the mean of the two middles.
func (m *runningMedian) median() float64 {
	m.scratch = append(m.scratch[:0], m.held()...)
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
