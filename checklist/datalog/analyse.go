package datalog

import (
	"fmt"
	"io"
	"math"
	"slices"
)

// Ranges of manifold pressure that count as light load, and sizes of the
// summaries that are kept.
const (
	lightLow       = 60e3  // Pa abs
	lightHigh      = 160e3 // Pa abs
	overviewWidth  = 0.1   // s
	overviewPoints = 512
	periodSamples  = 64
	gapPeriods     = 2.5
)

// Analyse reads a log once and computes what it proves. Its memory does not
// grow with the rows.
//
// Errors: a mapping of another header or file, a file that cannot be read or
// of which more than 5 % of the rows cannot, conditions that cannot be.
func Analyse(r io.Reader, m Mapping, c Conditions) (Result, error) {
	if err := c.Validate(); err != nil {
		return Result{}, err
	}
	file := newDigest(r)
	src, err := openSource(file)
	if err != nil {
		return Result{}, err
	}
	defer src.close()
	log, err := openRows(src)
	if err != nil {
		return Result{}, err
	}
	b, err := m.bind(log)
	if err != nil {
		return Result{}, err
	}
	a := newAnalysis(b, c)
	if err := a.read(log); err != nil {
		return Result{}, err
	}
	sum, err := file.hex()
	if err != nil {
		return Result{}, fmt.Errorf("log: cannot be read to its end: %w", err)
	}
	if m.SHA256 != "" && m.SHA256 != sum {
		return Result{}, fmt.Errorf("mapping: it is bound to another file (SHA-256 %.12s, this one is %.12s): confirm it for this file", m.SHA256, sum)
	}
	return a.result(log, m.For(sum)), nil
}

// analysis is the state of the one pass.
type analysis struct {
	b *binding
	c Conditions
	d *deriver
	g gate

	rows      int
	first     float64
	last      float64
	steps     []float64
	period    float64
	gaps      int
	longest   float64 // longest gap
	longestAt float64
	backward  int
	stalled   int     // rows with the time of the row before
	seconds   float64 // the log without its gaps
	samples   [slots]int
	outside   [slots]int
	started   bool
	sloshable bool    // acceleration or level is logged
	railSteps float64 // readings of rail pressure in pulls

	pull, worstPull *pull
	spare           *pull
	worstDrop       extreme
	worst           [gatedCount]extreme
	pulls           []Pull
	pullCount       int
	shortPulls      int
	openTime        float64

	keyOn     *histogram // manifold, Pa abs
	keyOff    *histogram // manifold less barometer when that is known
	restRail  runningMedian
	restLow   extreme // lowest rail with the engine still, negated
	light     *histogram
	base      *histogram
	slopeAll  spanned
	slopePull spanned
	overview  *trace

	temperature    runningMedian
	hottest        extreme
	off, offDrop   runningMedian // of how far apart, either way
	worstOff       extreme
	worstOffDrop   extreme
	offPair        [2]float64
	ethanol        *histogram
	ethanolRing    ring
	ethanolJump    extreme
	held           []heldRun
	lambda         flat
	constant       constantRail
	smooth         smooth
	noiseLight     noise
	noisePull      noise
	pulsation      pulsation
	dips           dips
	stage          stage
	stopping       stopping
	spectrum       spectrum
	duty           runningMedian
	pulseRing      ring
	static         extreme
	highestRunning float64
}

func newAnalysis(b *binding, c Conditions) *analysis {
	a := &analysis{
		b: b, c: c, d: newDeriver(b, c), period: nan,
		keyOn:       newHistogram(0, 300e3, 100),
		keyOff:      newHistogram(-100e3, 200e3, 100),
		light:       newHistogram(-200e3, 1200e3, 500),
		base:        newHistogram(-200e3, 1200e3, 500),
		ethanol:     newHistogram(0, 1.05, 0.005),
		overview:    newTrace(overviewWidth, overviewPoints),
		lambda:      flat{band: 0.002},
		ethanolRing: ring{window: 1},
		spectrum:    spectrum{cylinders: c.Cylinders},
		dips:        newDips(),
		sloshable:   b.has(sLongitudinal) || b.has(sLateral) || b.has(sLevel) && c.LowLevel > 0,
		offPair:     [2]float64{nan, nan},
	}
	for _, s := range [...]slot{sRail, sManifold, sLambda, sSpeed} { // sensors; a computed pulse width may well stay the same
		if b.has(s) {
			a.held = append(a.held, heldRun{slot: s})
		}
	}
	return a
}

func (a *analysis) read(log *rows) error {
	log.choose(a.b.timeColumn, a.b.timeScale, a.b.slots)
	ahead(log, len(a.b.columns), func(at float64, changes []change) {
		a.step(at)
		a.add(a.d.take(at, changes))
	})
	if err := log.finish(); err != nil {
		return err
	}
	a.finish()
	return nil
}

// restart forgets whatever follows time, after a gap.
func (a *analysis) restart() {
	a.g.restart()
	if a.pull != nil {
		a.pull.reset()
	}
	for _, m := range [...]*runningMedian{&a.temperature, &a.off, &a.offDrop, &a.duty, &a.restRail} {
		m.reset()
	}
	for _, r := range [...]*ring{&a.ethanolRing, &a.pulseRing} {
		r.reset()
	}
	for i := range a.held {
		a.held[i].reset()
	}
	a.lambda.reset()
	a.smooth.reset()
	a.noiseLight.reset()
	a.noisePull.reset()
	a.spectrum.reset()
	a.dips.reset()
	a.constant.seen = false
}

func (a *analysis) add(m *moment) {
	a.overview.add(m)
	a.contradictions(m)
	a.slowChannels(m)
	speed := m.near(sSpeed)
	a.stopping.add(m, speed)
	if speed != speed || speed < runningSpeed {
		a.atRest(m, speed)
		return
	}
	a.start()
	state := a.g.add(m)
	hoseOff := a.c.HoseOff.holds(m.at)
	a.follow(m, state, hoseOff)
	a.runningEngine(m, state, hoseOff)
}

// contradictions compares what the log says with what is computed.
func (a *analysis) contradictions(m *moment) {
	if m.near(sSpeed) < runningSpeed {
		return
	}
	if m.off == m.off {
		if a.off.into(&a.worstOff, m.at, math.Abs(m.off)) {
			a.offPair = [2]float64{m.near(sDuty), m.duty}
		}
	}
	if m.offDrop == m.offDrop {
		a.offDrop.into(&a.worstOffDrop, m.at, math.Abs(m.offDrop))
	}
}

// slowChannels are judged over the whole log.
func (a *analysis) slowChannels(m *moment) {
	if m.fresh(sFuelTemp) {
		a.temperature.into(&a.hottest, m.at, m.v[sFuelTemp])
	}
	if m.fresh(sEthanol) {
		v := m.v[sEthanol]
		a.ethanol.add(v)
		a.ethanolRing.add(m.at, v)
		a.ethanolJump.add(m.at, math.Abs(v-a.ethanolRing.oldest().value))
	}
}

// atRest is the engine not running: the sensors show their zero.
func (a *analysis) atRest(m *moment, speed float64) {
	if a.g.add(m); a.g.pullOver {
		a.endPull()
	}
	if !(speed < stillSpeed) {
		return
	}
	if !a.started && m.fresh(sManifold) {
		if a.d.mapRef == Absolute {
			a.keyOn.add(m.manifold)
		}
		if zero := m.manifold - a.knownBarometer(m); zero == zero {
			a.keyOff.add(zero)
		}
	}
	if m.fresh(sRail) {
		// The sensor's own zero: an absolute sensor mapped as gauge shows it.
		zero := m.v[sRail]
		if a.d.railRef == Absolute {
			zero = m.rail
		}
		a.restRail.into(&a.restLow, m.at, -zero)
	}
}

// knownBarometer leaves out the barometer that was taken from the manifold
// sensor itself.
func (a *analysis) knownBarometer(m *moment) float64 {
	if a.b.has(sBarometer) || a.c.Barometer > 0 {
		return m.barometer
	}
	return nan
}

// start marks the engine's first turn.
func (a *analysis) start() {
	if !a.started {
		a.started = true
		a.d.keyOnMAP = a.keyOn.median()
	}
}

// runningEngine feeds whatever is judged while the engine runs.
func (a *analysis) runningEngine(m *moment, state gateState, hoseOff bool) {
	a.highestRunning = larger(a.highestRunning, m.manifold)
	a.stage.add(m)
	a.dutyAndPulse(m)
	for i := range a.held {
		switch r := &a.held[i]; {
		case state != gateOpen:
			r.reset()
		case m.fresh(r.slot):
			r.add(m.at, m.v[r.slot])
		}
	}
	if m.fresh(sLambda) {
		a.lambda.add(m.at, m.v[sLambda])
	}
	if !hoseOff && m.fresh(sRail) && m.manifold == m.manifold {
		a.constant.add(m.at, m.rail, m.manifold)
	}
	if m.drop != m.drop {
		return
	}
	a.smooth.add(m.at, m.drop)
	switch {
	case hoseOff:
		a.base.add(m.rail)
	case !a.c.HoseOff.near(m.at):
		a.pressureDifference(m, state)
	}
}

func (a *analysis) dutyAndPulse(m *moment) {
	if m.fresh(sPulse) {
		a.pulseRing.add(m.at, m.v[sPulse])
	}
	if m.duty != m.duty {
		return
	}
	if m.duty >= staticDuty/2 && a.pulseRing.rate() > risingPulse {
		a.duty.into(&a.static, m.at, m.duty)
	}
}

func (a *analysis) pressureDifference(m *moment, state gateState) {
	if m.fresh(sRail) {
		a.spectrum.add(m.at, m.drop, m.near(sSpeed))
	}
	if state == gateIgnored {
		return
	}
	light := m.manifold >= lightLow-pressureSlack && m.manifold <= lightHigh+pressureSlack
	if light {
		a.light.add(m.drop)
	}
	a.slopeAll.add(m.manifold, m.rail)
	if a.sloshable {
		a.dips.add(m.at, m.drop, a.pushed(m))
	}
	switch {
	case state == gateOpen:
		a.noiseLight.reset()
		a.noisePull.add(m.drop)
		a.pulsation.add(m.at, m.drop)
	case light:
		a.noisePull.reset()
		a.noiseLight.add(m.drop)
	default:
		a.noisePull.reset()
		a.noiseLight.reset()
	}
}

// pushed reports that fuel may have been thrown away from the pump.
func (a *analysis) pushed(m *moment) bool {
	long, lat, level := m.near(sLongitudinal), m.near(sLateral), m.near(sLevel)
	return math.Abs(long) >= sloshG || math.Abs(lat) >= sloshG || a.c.LowLevel > 0 && level < float64(a.c.LowLevel)
}

func (a *analysis) finish() {
	a.endPull()
	a.stopping.finish(a.last)
	for i := range a.d.columns {
		c := &a.d.columns[i]
		c.turn(a.d.rows, nan)
		a.samples[c.slot], a.outside[c.slot] = c.samples, c.outside
	}
	a.outside[sManifold] += a.d.manifoldOutside
	if a.period != a.period && len(a.steps) > 0 {
		a.period = slices.Sorted(slices.Values(a.steps))[len(a.steps)/2]
	}
}
