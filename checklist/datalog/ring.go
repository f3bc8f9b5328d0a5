package datalog

// ring holds the samples of the last 0.3 s, or of another window, for a rate
// of change. At most 128 samples are held, few enough to stay in the nearest
// memory: what comes faster is thinned, from 427 Hz on in 0.3 s.
type ring struct {
	window  float64 // s; 0 is [medianWindow]
	at, v   [128]float64
	head, n int
}

func (r *ring) reset() { r.head, r.n = 0, 0 }

func (r *ring) length() float64 {
	if r.window > 0 {
		return r.window
	}
	return medianWindow
}

func (r *ring) add(at, v float64) {
	window := r.length()
	if r.n > 0 && at-r.at[r.newest()] < window/float64(len(r.at))-timeSlack {
		return
	}
	for r.n > 0 && (at-r.at[r.head] > window+timeSlack || r.n == len(r.at)) {
		r.head = (r.head + 1) & (len(r.at) - 1)
		r.n--
	}
	i := (r.head + r.n) & (len(r.at) - 1)
	r.at[i], r.v[i] = at, v
	r.n++
}

func (r *ring) newest() int { return (r.head + r.n - 1) & (len(r.at) - 1) }

// rate is the mean rate of change over the ring, 0 when it is too short to say.
func (r *ring) rate() float64 {
	if r.n < 2 {
		return 0
	}
	span := r.at[r.newest()] - r.at[r.head]
	if span < r.length()/3 {
		return 0
	}
	return (r.v[r.newest()] - r.v[r.head]) / span
}

// oldest is the first value held.
func (r *ring) oldest() float64 { return r.v[r.head] }
