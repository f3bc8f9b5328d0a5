package datalog

import (
	"fmt"
	"io"
	"math"

	"feedproof/schema/quantity"
)

// Drive is the mean of a tenth of a second of a logged lap: what a tank feels,
// and what the engine takes. Accelerations are low-passed at 1 Hz, for the fuel
// in a tank follows nothing faster. A value that was not logged is NaN.
type Drive struct {
	At        quantity.Duration // beginning of the slice, in the log's own time
	Flow      quantity.MassFlow // implied; needs [Conditions.Injectors]
	Demand    quantity.Fraction // of the most in this log
	Throttle  quantity.Fraction
	Manifold  quantity.Absolute
	Barometer quantity.Absolute
	Forward   quantity.Acceleration
	Left      quantity.Acceleration
}

// Limits of a log that serves as a lap.
const (
	DriveStep   = quantity.Duration(0.1)
	DriveGap    = quantity.Duration(0.5) // longest gap
	driveLeast  = 5.0                    // s
	driveMost   = 2 * 3600.0             // s
	driveSlosh  = 1.0                    // Hz
	driveBlanks = 0.5                    // s for which an acceleration may be blank
)

// Lap reads a log as a lap.
//
// Errors: as [Analyse]; a log without accelerations; one shorter than 5 s or
// longer than 2 h; time that runs backward; a gap of more than 0.5 s.
func Lap(r io.Reader, m Mapping, c Conditions) ([]Drive, error) {
	if err := c.Validate(); err != nil {
		return nil, err
	}
	src, err := openSource(r)
	if err != nil {
		return nil, err
	}
	defer src.close()
	log, err := openRows(src)
	if err != nil {
		return nil, err
	}
	b, err := m.bind(log)
	if err != nil {
		return nil, err
	}
	if !b.has(sLateral) && !b.has(sLongitudinal) {
		return nil, fmt.Errorf("lap: the log has neither %s nor %s: map one with --map", Lateral, Longitudinal)
	}
	t := newDriving(b, c)
	log.choose(b.timeColumn, b.timeScale, b.slots)
	ahead(log, len(b.columns), t.add)
	if err := log.finish(); err != nil {
		return nil, err
	}
	return t.result()
}

// driving gathers slices.
type driving struct {
	d       *deriver
	has     func(slot) bool
	first   float64
	last    float64
	rows    int
	slices  []driveSlice
	err     error
	started bool
}

// driveSlice sums a tenth of a second.
type driveSlice struct {
	index int
	sum   [driveFields]float64
	n     [driveFields]float64
}

const (
	dFlow = iota
	dDemand
	dThrottle
	dManifold
	dBarometer
	dForward
	dLeft
	driveFields
)

func newDriving(b *binding, c Conditions) *driving {
	return &driving{d: newDeriver(b, c), has: b.has}
}

func (t *driving) add(at float64, changes []change) {
	m := t.d.take(at, changes)
	switch {
	case !t.started:
		t.started, t.first = true, at
	case at < t.last && t.err == nil:
		t.err = fmt.Errorf("lap: time runs backward at %s", seconds(at))
	case at-t.last > float64(DriveGap)+timeSlack && t.err == nil:
		t.err = fmt.Errorf("lap: a gap of %s at %s; a lap goes on without gaps over %s", seconds(at-t.last), seconds(t.last), seconds(float64(DriveGap)))
	case at-t.first > driveMost && t.err == nil:
		t.err = fmt.Errorf("lap: longer than %s; cut the log to one lap or stint", seconds(driveMost))
	}
	t.last = at
	if t.err != nil {
		return
	}
	t.rows++
	index := int((at - t.first + timeSlack) / float64(DriveStep))
	if n := len(t.slices); n == 0 || t.slices[n-1].index < index {
		t.slices = append(t.slices, driveSlice{index: index})
	}
	s := &t.slices[len(t.slices)-1]
	for f, v := range [driveFields]float64{m.flow, m.demand, m.near(sThrottle), m.manifold, m.barometer, m.near(sLongitudinal), m.near(sLateral)} {
		if v == v {
			s.sum[f] += v
			s.n[f]++
		}
	}
}

func seconds(s float64) string { return quantity.Format(quantity.Duration(s), "s", 1) }

func (t *driving) result() ([]Drive, error) {
	if t.err != nil {
		return nil, t.err
	}
	if span := t.last - t.first; span < driveLeast {
		return nil, fmt.Errorf("lap: the log is %s long, from %s to %s", seconds(span), seconds(driveLeast), seconds(driveMost))
	}
	values := [driveFields][]float64{}
	for f := range values {
		values[f] = t.even(f)
	}
	for _, f := range []int{dForward, dLeft} {
		if err := t.whole(f, values[f]); err != nil {
			return nil, err
		}
		lowPass(values[f])
	}
	most := 0.0
	for _, v := range values[dDemand] {
		most = larger(most, v)
	}
	out := make([]Drive, len(values[0]))
	for i := range out {
		out[i] = Drive{
			At: quantity.Duration(t.first) + quantity.Duration(i)*DriveStep, Flow: quantity.MassFlow(values[dFlow][i]), Demand: quantity.Fraction(values[dDemand][i] / most),
			Throttle: quantity.Fraction(values[dThrottle][i]), Manifold: quantity.Absolute(values[dManifold][i]), Barometer: quantity.Absolute(values[dBarometer][i]),
			Forward: quantity.Acceleration(values[dForward][i]), Left: quantity.Acceleration(values[dLeft][i]),
		}
	}
	return out, nil
}

// even is a value at every tenth of a second: where a slice has none the one
// before stands, for as long as a gap may be.
func (t *driving) even(f int) []float64 {
	out := make([]float64, t.slices[len(t.slices)-1].index+1)
	for i := range out {
		out[i] = nan
	}
	for _, s := range t.slices {
		if s.n[f] > 0 {
			out[s.index] = s.sum[f] / s.n[f]
		}
	}
	held, last := 0.0, nan
	for i, v := range out {
		if v == v {
			last, held = v, 0
			continue
		}
		if held += float64(DriveStep); held <= driveBlanks+timeSlack {
			out[i] = last
		}
	}
	return out
}

// whole refuses an acceleration with blanks; one that was not logged is taken
// as none.
func (t *driving) whole(f int, v []float64) error {
	channel, s := Longitudinal, sLongitudinal
	if f == dLeft {
		channel, s = Lateral, sLateral
	}
	for i := range v {
		switch {
		case !t.has(s):
			v[i] = 0
		case v[i] != v[i]:
			return fmt.Errorf("lap: %s is blank for more than %s at %s", channel, seconds(driveBlanks), seconds(t.first+float64(i)*float64(DriveStep)))
		}
	}
	return nil
}

// lowPass filters at 1 Hz, of first order.
func lowPass(v []float64) {
	share := 1 - math.Exp(-2*math.Pi*driveSlosh*float64(DriveStep))
	for i := 1; i < len(v); i++ {
		v[i] = v[i-1] + share*(v[i]-v[i-1])
	}
}
