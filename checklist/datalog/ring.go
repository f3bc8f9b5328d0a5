package datalog

// ring holds the samples of the last 0.3 s, or of another window, for a rate
// of change. At most 128 samples are held, few enough to stay in the nearest
// memory: what comes faster is thinned, from 427 Hz on in 0.3 s.
type ring struct {
	window     float64 // s; 0 is [medianWindow]
	samples    [ringSamples]sample
	first, end uint // counted on and on: each at the place of its rest by ringSamples
}

const ringSamples = 128

func (r *ring) reset() { r.first, r.end = 0, 0 }

func (r *ring) length() float64 {
	if r.window > 0 {
		return r.window
	}
	return medianWindow
}

func (r *ring) add(at, v float64) {
	window := r.length()
	if r.end > r.first && at-r.newest().at < window/ringSamples-timeSlack {
		return
	}
	for r.end > r.first && (at-r.oldest().at > window+timeSlack || r.end-r.first == ringSamples) {
		r.first++
	}
	r.samples[r.end%ringSamples] = sample{at, v}
	r.end++
}

func (r *ring) oldest() *sample { return &r.samples[r.first%ringSamples] }
func (r *ring) newest() *sample { return &r.samples[(r.end-1)%ringSamples] }

// rate is the mean rate of change over the ring, 0 when it is too short to say.
func (r *ring) rate() float64 {
	if r.end-r.first < 2 {
		return 0
	}
	span := r.newest().at - r.oldest().at
	if span < r.length()/3 {
		return 0
	}
	return (r.newest().value - r.oldest().value) / span
}

// mean is NaN when nothing is held.
func (r *ring) mean() float64 {
	sum := 0.0
	for i := r.first; i < r.end; i++ {
		sum += r.samples[i%ringSamples].value
	}
	return sum / float64(r.end-r.first)
}
