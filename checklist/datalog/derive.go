package datalog

import (
	"math"

	"feedproof/schema/quantity"
)

// moment is one row with what is computed from it. A value is NaN when it was
// not logged, or when its parts were not logged close enough together.
type moment struct {
	at    float64        // s
	v     [slots]float64 // SI, of this row; NaN when blank
	held  [slots]float64 // where v is blank: its latest value
	since [slots]float64 // and when it was logged

	barometer float64 // Pa
	manifold  float64 // Pa absolute
	rail      float64 // Pa gauge
	drop      float64 // Pa, rail minus manifold
	duty      float64 // commanded
	off       float64 // logged duty minus commanded
	offDrop   float64 // logged pressure difference minus computed
	lean      float64 // lambda minus target, the leaner bank
	lambda    float64 // the leaner bank
	richest   float64 // lambda minus target, the richer bank
	lost      float64 // V, battery minus pump
	flow      float64 // kg/s, implied
	demand    float64 // flow in its own proportion
}

// holds are the seconds for which a value stands when the column is blank.
var holds = func() (h [slots]float64) {
	for _, s := range specs {
		if s.slot >= 0 {
			h[s.slot] = s.hold + timeSlack
		}
	}
	return h
}()

// deriver computes a moment from a row.
type deriver struct {
	b       *binding
	c       Conditions
	m       moment
	rows    int
	columns []counted
	// Manifold pressure is held to its range as absolute, whatever the sensor.
	manifoldLow, manifoldHigh float64
	manifoldOutside           int
	keyOnMAP                  float64 // Pa absolute, median with the engine not yet started; NaN
	railRef                   Sensor
	mapRef                    Sensor
	baroRef                   Sensor
	bothGauge                 bool
}

// counted is a column and how many of its values there were, and outside of
// what can be.
type counted struct {
	slot             slot
	line             line
	low, high        float64
	samples, outside int
	from             int  // the row since which its values are
	fresh, beyond    bool // of this kind
}

func newDeriver(b *binding, c Conditions) *deriver {
	d := &deriver{b: b, c: c, keyOnMAP: nan}
	for _, col := range b.columns {
		low, high := saneRange(col.slot)
		if col.slot == sManifold {
			d.manifoldLow, d.manifoldHigh = low, high
			low, high = math.Inf(-1), math.Inf(1)
		}
		d.columns = append(d.columns, counted{slot: col.slot, line: col.line, low: low, high: high})
	}
	for i := range d.m.held { // a channel that is not logged stays blank
		d.m.v[i], d.m.held[i], d.m.since[i] = nan, nan, math.Inf(-1)
	}
	sensor := func(s slot) Sensor {
		if b.has(s) {
			return b.bySlot[s].sensor
		}
		return ""
	}
	d.railRef, d.mapRef, d.baroRef = sensor(sRail), sensor(sManifold), sensor(sBarometer)
	d.bothGauge = d.railRef == Gauge && d.mapRef == Gauge
	return d
}

// take sets the moment to the next row.
func (d *deriver) take(at float64, changes []change) *moment {
	m, before := &d.m, d.m.at
	for _, c := range changes {
		col := &d.columns[c.place]
		v, old := c.value*col.line.factor+col.line.offset, m.v[col.slot]
		if v != v && old == old {
			m.held[col.slot], m.since[col.slot] = old, before
		}
		m.v[col.slot] = v
		col.turn(d.rows, v)
	}
	if at < before {
		for i := range m.since {
			m.since[i] = math.Inf(-1) // the clock was set back: nothing stands
		}
	}
	m.at = at
	d.rows++
	d.derive()
	if m.fresh(sManifold) && (m.manifold < d.manifoldLow || m.manifold > d.manifoldHigh) {
		d.manifoldOutside++
	}
	return m
}

// turn takes the next value. It counts the rows of those before when it is
// another kind of value than they are.
func (c *counted) turn(row int, v float64) {
	fresh, beyond := v == v, v < c.low || v > c.high
	if fresh == c.fresh && beyond == c.beyond {
		return
	}
	stood := row - c.from
	if c.fresh {
		c.samples += stood
	}
	if c.beyond {
		c.outside += stood
	}
	c.from, c.fresh, c.beyond = row, fresh, beyond
}

// saneRange is what a channel can be.
func saneRange(s slot) (low, high float64) {
	for _, spec := range specs {
		if spec.slot == s {
			return spec.low, spec.high
		}
	}
	return math.Inf(-1), math.Inf(1)
}

// near is the value of a channel at this moment, NaN when its last is too old.
func (m *moment) near(s slot) float64 {
	if v := m.v[s]; v == v {
		return v
	}
	if m.at-m.since[s] > holds[s] {
		return nan
	}
	return m.held[s]
}

// fresh reports that this row has a value of the channel.
func (m *moment) fresh(s slot) bool { return m.v[s] == m.v[s] }

func (d *deriver) derive() {
	m := &d.m
	m.barometer = d.pressureNow()
	m.manifold = m.near(sManifold) + d.reference(d.mapRef)
	m.rail = m.near(sRail) + d.reference(d.railRef) - m.barometer
	m.drop, m.duty, m.off, m.offDrop = nan, nan, nan, nan
	m.lost, m.flow = nan, nan
	d.difference()
	d.dutyCycle()
	d.mixture()
	if m.fresh(sPump) || m.fresh(sBattery) {
		m.lost = m.near(sBattery) - m.near(sPump)
	}
	d.fuel()
}

// pressureNow is the barometer: logged, else given, else what an absolute
// manifold sensor showed before the engine ran.
func (d *deriver) pressureNow() float64 {
	if d.b.has(sBarometer) {
		if b := d.m.near(sBarometer); b == b {
			if d.baroRef == Absolute {
				return b
			}
			return b + sealedAt
		}
	}
	if d.c.Barometer > 0 {
		return float64(d.c.Barometer)
	}
	return d.keyOnMAP
}

// reference is what a sensor's reading has to be raised by to be absolute.
func (d *deriver) reference(s Sensor) float64 {
	switch s {
	case Absolute:
		return 0
	case Sealed:
		return sealedAt
	}
	return d.m.barometer
}

// difference is the pressure across the injectors: rail minus manifold, both
// absolute. Two gauge sensors need no barometer for it.
func (d *deriver) difference() {
	m := &d.m
	if !m.fresh(sRail) && !m.fresh(sManifold) {
		return
	}
	rail, manifold := m.near(sRail), m.near(sManifold)
	if d.bothGauge {
		m.drop = rail - manifold
	} else {
		m.drop = rail + d.reference(d.railRef) - (manifold + d.reference(d.mapRef))
	}
	m.offDrop = m.near(sLoggedDrop) - m.drop
}

// dutyCycle is the commanded duty of a four-stroke engine:
//
//	D = t * n * events / 2,  t the pulse width, n in turns a second
//
// which is PW[ms] * rpm / 1200 for one injection in 720 degrees (common
// practice).
func (d *deriver) dutyCycle() {
	m := &d.m
	switch {
	case d.b.has(sPulse):
		if m.fresh(sPulse) || m.fresh(sSpeed) {
			m.duty = m.near(sPulse) * m.near(sSpeed) * float64(d.b.bySlot[sPulse].events) / 2
			m.off = m.near(sDuty) - m.duty
		}
	case m.fresh(sDuty):
		m.duty = m.v[sDuty]
	}
}

func (d *deriver) mixture() {
	m := &d.m
	m.lean, m.richest, m.lambda = nan, nan, nan
	target := m.near(sTarget)
	if target != target && d.c.Target > 0 {
		target = float64(d.c.Target)
	}
	for _, bank := range [...]slot{sLambda, sLambdaTwo} {
		if v := m.v[bank]; v == v {
			m.lambda = larger(m.lambda, v)
			m.lean, m.richest = larger(m.lean, v-target), smaller(m.richest, v-target)
		}
	}
}

// larger and smaller leave out NaN, unlike math.Max.
func larger(a, b float64) float64 {
	if a != a || b > a {
		return b
	}
	return a
}

func smaller(a, b float64) float64 {
	if a != a || b < a {
		return b
	}
	return a
}

// fuel is the implied flow and its proportion. The flow of an orifice goes
// with the root of its pressure difference:
//
//	m = N * G * sqrt(dp / dp_rated) * (D - t_dead * n * events / 2)
//
// where N injectors of static flow G at dp_rated are commanded to D (orifice
// equation; common practice for injectors). Without injector data the
// proportion D*sqrt(dp) stands for it, and without duty the air, n*MAP.
func (d *deriver) fuel() {
	m := &d.m
	switch {
	case !d.b.has(sPulse) && !d.b.has(sDuty):
		m.demand = m.near(sSpeed) * m.manifold
	case !d.c.Injectors.known():
		m.demand = m.duty * math.Sqrt(max(m.drop, 0))
	default:
		m.flow = d.implied()
		m.demand = m.flow
	}
}

func (d *deriver) implied() float64 {
	m, i := &d.m, d.c.Injectors
	if m.duty != m.duty || m.drop != m.drop {
		return nan
	}
	events := 1.0
	if d.b.has(sPulse) {
		events = float64(d.b.bySlot[sPulse].events)
	}
	dead := float64(i.Dead(quantity.Voltage(m.near(sBattery)), quantity.Difference(m.drop)))
	effective := math.Max(m.duty-dead*m.near(sSpeed)*events/2, 0)
	return float64(i.Count) * float64(i.Static) * math.Sqrt(max(m.drop, 0)) / math.Sqrt(float64(i.Rated)) * effective
}
