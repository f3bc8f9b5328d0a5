package datalog

import "math"

// moments are the running sums of pairs for a least-squares line, kept about
// the mean so that they do not cancel (B. P. Welford, Technometrics 4 (1962)
// 419; for pairs: Chan, Golub and LeVeque, COMPSTAT 1982).
type moments struct {
	n             float64
	meanX, meanY  float64
	sxx, sxy, syy float64
}

func (m *moments) add(x, y float64) {
	if x != x || y != y {
		return
	}
	m.n++
	dx, dy, share := x-m.meanX, y-m.meanY, 1/m.n
	m.meanX += dx * share
	m.meanY += dy * share
	m.sxx += dx * (x - m.meanX)
	m.sxy += dx * (y - m.meanY)
	m.syy += dy * (y - m.meanY)
}

// merge adds the pairs of o, of which only sums are left.
func (m *moments) merge(o moments) {
	if o.n == 0 {
		return
	}
	if m.n == 0 {
		*m = o
		return
	}
	n, dx, dy := m.n+o.n, o.meanX-m.meanX, o.meanY-m.meanY
	share := m.n * o.n / n
	m.sxx += o.sxx + dx*dx*share
	m.sxy += o.sxy + dx*dy*share
	m.syy += o.syy + dy*dy*share
	m.meanX += dx * o.n / n
	m.meanY += dy * o.n / n
	m.n = n
}

func (m *moments) slope() float64     { return m.sxy / m.sxx }
func (m *moments) intercept() float64 { return m.meanY - m.slope()*m.meanX }

// r2 is the share of the variance of y that the line explains. Without any
// variance it is 0: a line through a constant explains nothing.
func (m *moments) r2() float64 {
	if m.sxx <= 0 || m.syy <= 0 {
		return 0
	}
	return m.sxy * m.sxy / (m.sxx * m.syy)
}

// deviationY is the standard deviation of y (of the sample, n-1).
func (m *moments) deviationY() float64 {
	if m.n < 2 {
		return nan
	}
	return math.Sqrt(m.syy / (m.n - 1))
}

// spanned is a line of pairs with how far x spans. Two strays at either end do not count as
// span: it is from the third lowest to the third highest.
type spanned struct {
	moments
	low, high [3]float64 // the lowest x, and the highest negated, in order
}

func (s *spanned) add(x, y float64) {
	if x != x || y != y {
		return
	}
	if s.n == 0 {
		s.empty()
	}
	s.moments.add(x, y)
	insert(&s.low, x)
	insert(&s.high, -x)
}

func (s *spanned) empty() {
	for i := range s.low {
		s.low[i], s.high[i] = math.Inf(1), math.Inf(1)
	}
}

func (s *spanned) merge(o spanned) {
	if o.n == 0 {
		return
	}
	if s.n == 0 {
		s.empty()
	}
	s.moments.merge(o.moments)
	for i := range o.low {
		insert(&s.low, o.low[i])
		insert(&s.high, o.high[i])
	}
}

// insert keeps the three lowest values in order.
func insert(lowest *[3]float64, v float64) {
	if !(v < lowest[2]) {
		return
	}
	i := 2
	for ; i > 0 && v < lowest[i-1]; i-- {
		lowest[i] = lowest[i-1]
	}
	lowest[i] = v
}

func (s *spanned) span() float64 {
	if s.n < 6 {
		return 0
	}
	return -s.high[2] - s.low[2]
}

// histogram finds the median of any number of values in fixed memory: the mean
// of the values in the bin that holds the middle one, so it is off by less
// than a bin and is not rounded to bins. A value that comes again and again is
// taken to its bin when another comes, or when it came so often.
type histogram struct {
	low, width float64
	bins       []bin
	n          int

	value float64
	times int
}

const settleTimes = 1 << 10

type bin struct {
	count int
	sum   float64
}

// newHistogram has bins of so much width from low to high; what is outside
// falls into the first and last.
func newHistogram(low, high, width float64) *histogram {
	return &histogram{low: low, width: width, bins: make([]bin, int(math.Ceil((high-low)/width)))}
}

func (h *histogram) add(v float64) {
	if v != h.value || h.times == settleTimes {
		h.settle()
		h.value = v
	}
	h.times++
	h.n++
}

func (h *histogram) settle() {
	b := &h.bins[min(max(int((h.value-h.low)/h.width), 0), len(h.bins)-1)]
	sum := b.sum
	for range h.times {
		sum += h.value
	}
	b.sum, b.count, h.times = sum, b.count+h.times, 0
}

// median is NaN when nothing was added.
func (h *histogram) median() float64 {
	h.settle()
	middle, passed := (h.n+1)/2, 0
	for _, b := range h.bins {
		if passed += b.count; b.count > 0 && passed >= middle {
			return b.sum / float64(b.count)
		}
	}
	return nan
}
