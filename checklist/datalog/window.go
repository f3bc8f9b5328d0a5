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
	head   int // of the oldest
	n      int
	since  float64 // s, the first sample after a reset
	last   float64 // s, the latest

	bound   float64 // what samples are counted against
	bounded bool
	above   int
	scratch []float64
}

func (m *runningMedian) reset() { m.head, m.n, m.above = 0, 0, 0 }

// add takes a sample.
func (m *runningMedian) add(at, value float64) {
	if m.n == 0 {
		m.since = at
	}
	m.last = at
	for m.n >= medianSamples && at-m.times[m.head] >= medianWindow-timeSlack || m.n == maxWindow {
		if m.values[m.head] > m.bound {
			m.above--
		}
		m.head = (m.head + 1) & (len(m.times) - 1)
		m.n--
	}
	if m.n == len(m.times) {
		m.grow()
	}
	i := (m.head + m.n) & (len(m.times) - 1)
	m.times[i], m.values[i] = at, value
	m.n++
	if value > m.bound {
		m.above++
	}
}

// full reports that the samples span the window, but for their last step.
func (m *runningMedian) full(step float64) bool {
	return m.n >= medianSamples && m.last-m.since >= medianWindow-step-timeSlack
}

// step is the time between the last two samples.
func (m *runningMedian) step() float64 {
	if m.n < 2 {
		return 0
	}
	return m.last - m.times[(m.head+m.n-2)&(len(m.times)-1)]
}

// into adds a sample and raises e to the median where that is larger.
func (m *runningMedian) into(e *extreme, at, value float64) bool {
	m.add(at, value)
	if !m.full(m.step()) {
		return false
	}
	if !e.seen {
		return e.add(at, m.median())
	}
	m.count(e.value)
	switch {
	case 2*m.above < m.n:
		return false
	case 2*m.above == m.n:
		return e.add(at, m.middle(e.value))
	}
	return e.add(at, m.median())
}

// middle is the median of which as many samples are above a value as are not.
func (m *runningMedian) middle(value float64) float64 {
	lower, upper := math.Inf(-1), math.Inf(1)
	for i := range m.n {
		v := m.values[(m.head+i)&(len(m.values)-1)]
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
	if m.bounded && m.bound == bound {
		return
	}
	m.bound, m.bounded, m.above = bound, true, 0
	for i := range m.n {
		if m.values[(m.head+i)&(len(m.values)-1)] > bound {
			m.above++
		}
	}
}

// grow keeps the ring a power of two.
func (m *runningMedian) grow() {
	size := max(64, 2*len(m.times))
	times, values := make([]float64, size), make([]float64, size)
	for i := range m.n {
		j := (m.head + i) & (len(m.times) - 1)
		times[i], values[i] = m.times[j], m.values[j]
	}
	m.times, m.values, m.head = times, values, 0
}

// median is the middle, or the mean of the two middles.
func (m *runningMedian) median() float64 {
	m.scratch = m.scratch[:0]
	for i := range m.n {
		m.scratch = append(m.scratch, m.values[(m.head+i)&(len(m.values)-1)])
	}
	k := m.n / 2
	upper := selectRank(m.scratch, k)
	if m.n%2 == 1 {
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
