package datalog

import "slices"

// Windows of the running median. A value counts as worst only when it stood
// for the middle of so long: one sample proves nothing (common practice).
const (
	medianWindow  = 0.3 // s
	medianSamples = 3   // fewer do not make a median
	maxWindow     = 4096
	timeSlack     = 1e-6 // s, for times written with few decimals
)

// runningMedian is the median of the samples of the last 0.3 s, open at the
// old end. It keeps them in order of age and in order of size. Above 13.6 kHz
// the window is shorter, for at most 4096 samples are kept.
type runningMedian struct {
	times  []float64
	values []float64
	sorted []float64
	head   int // of the oldest
	n      int
	since  float64 // s, the first sample after a reset
	last   float64 // s, the latest
}

func (m *runningMedian) reset() {
	m.head, m.n, m.sorted = 0, 0, m.sorted[:0]
}

// add takes a sample and is the median, when the window is full.
func (m *runningMedian) add(at, value float64) (median float64, ok bool) {
	if m.n == 0 && len(m.sorted) == 0 {
		m.since, m.last = at, at
	}
	step := at - m.last
	m.last = at
	for m.n > 0 && (at-m.times[m.head] >= medianWindow-timeSlack || m.n == maxWindow) {
		m.drop()
	}
	m.push(at, value)
	if m.n < medianSamples || at-m.since < medianWindow-step-timeSlack {
		return 0, false
	}
	return m.median(), true
}

func (m *runningMedian) push(at, value float64) {
	if m.n == len(m.times) {
		m.grow()
	}
	i := (m.head + m.n) & (len(m.times) - 1)
	m.times[i], m.values[i] = at, value
	m.n++
	j := position(m.sorted, value)
	m.sorted = append(m.sorted, 0)
	copy(m.sorted[j+1:], m.sorted[j:])
	m.sorted[j] = value
}

func (m *runningMedian) drop() {
	j := position(m.sorted, m.values[m.head])
	m.sorted = append(m.sorted[:j], m.sorted[j+1:]...)
	m.head = (m.head + 1) & (len(m.times) - 1)
	m.n--
}

// position is where value stands or would stand; a plain search is faster than
// a clever one in windows as short as these.
func position(sorted []float64, value float64) int {
	if len(sorted) > 64 {
		i, _ := slices.BinarySearch(sorted, value)
		return i
	}
	i := 0
	for i < len(sorted) && sorted[i] < value {
		i++
	}
	return i
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
	k := m.n / 2
	if m.n%2 == 1 {
		return m.sorted[k]
	}
	return (m.sorted[k-1] + m.sorted[k]) / 2
}

// extreme keeps the largest value and its time. Smallest values are kept as
// the largest of their negatives.
type extreme struct {
	value, at float64
	seen      bool
}

func (e *extreme) add(at, value float64) {
	if !e.seen || value > e.value {
		*e = extreme{value, at, true}
	}
}

func (e *extreme) merge(o extreme) {
	if o.seen {
		e.add(o.at, o.value)
	}
}
