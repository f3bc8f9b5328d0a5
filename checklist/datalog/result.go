package datalog

import (
	"time"

	"feedproof/schema/quantity"
)

// Result is what a log proves, in numbers, and what it cannot prove. Every
// worst value is an extreme of the 0.3 s running median and holds under the
// gate of a loaded pull unless its comment says otherwise.
type Result struct {
	Mapping Mapping // bound to the file
	Reading Reading
	Timing  Timing
	Pulls   []Pull // the first 100
	Loaded  int    // how many pulls there were
	Short   int    // loaded stretches of less than 1.0 s, not judged

	// Pressure across the injectors.
	Base       Level[quantity.Difference] // reference hose off
	Light      Level[quantity.Difference] // median at light load, manifold 60 to 160 kPa abs
	LowestDrop Worst[quantity.Difference]
	Shortfall  Worst[quantity.Difference] // base less lowest: L04a
	Fall       Worst[quantity.Difference] // light load less lowest: L04b
	Slope      Fit                        // rail against manifold pressure: L05
	SlopePulls bool                       // Slope is of the pulls, not of all running
	Fits       []Fit                      // the pressure difference of the worst pull against what could explain it, best first
	Pulsation  Worst[quantity.Difference] // peak to peak in 0.1 s, at 1 kHz or more: L24
	Wave       Wave

	Duty        Worst[quantity.Fraction] // commanded: L03
	Static      Worst[quantity.Fraction] // highest commanded duty at which the pulse width still rose
	DutyOff     Worst[quantity.Fraction] // logged against computed duty, while running: X06
	DutyLogged  quantity.Fraction        // at that time
	DutyCommand quantity.Fraction        // at that time
	DropOff     Worst[quantity.Difference]
	Lean        Worst[quantity.Lambda] // lambda less target, the leaner bank: L14
	Rich        Worst[quantity.Lambda] // target less lambda, the richer bank
	Flow        Worst[quantity.MassFlow]
	Power       Worst[quantity.Power] // implied by flow and consumption: X08

	VoltsLost   Worst[quantity.Voltage] // battery less pump: L10
	PumpVoltage Worst[quantity.Voltage] // lowest: L10b
	BatteryLow  Worst[quantity.Voltage]
	PumpCommand Worst[quantity.Fraction]    // highest: L04c
	Temperature Worst[quantity.Temperature] // of the fuel, whole log: L13
	PumpStop    Stop                        // L25

	Ethanol      Level[quantity.Fraction]
	EthanolJump  Worst[quantity.Fraction] // in 1 s
	Barometer    Level[quantity.Absolute]
	ManifoldZero Level[quantity.Difference] // manifold less barometer before the engine ran
	RailZero     Worst[quantity.Gauge]      // lowest rail reading with the engine still
	SecondStage  Stage

	Signatures []Signature
	Proofs     []Proof
	Worst      []Point // the worst pull
	Overview   []Point // the whole log

	throttle bool // it is logged
}

// Level is a median, or another value without a time.
type Level[Q quantity.Quantity] struct {
	Value Q
	From  string // where it comes from
	Known bool
}

// Fit is a least-squares line.
type Fit struct {
	Against string            // "manifold pressure", "flow", "flow squared", "pump voltage", "fuel temperature"
	Slope   quantity.Fraction // of pressure on pressure only; 0 otherwise
	R2      quantity.Fraction // share of the variance that the line explains
	LackR2  quantity.Fraction // the same of rail less manifold pressure, on the slope only
	Span    quantity.Absolute // of manifold pressure, when that is what it is against
	Samples int
	Known   bool
}

// Timing is the clock of a log.
type Timing struct {
	From, To quantity.Duration // in the log's own time
	Start    time.Time         // zero when the log has no date
	Length   quantity.Duration // without gaps
	Rate     Hertz             // rows a second, from their usual step
	RailRate Hertz             // readings of rail pressure a second in pulls
	Gaps     int               // steps above 2.5 times the usual
	Longest  quantity.Duration // gap
	LongAt   quantity.Duration
	Backward int               // steps back in time
	Stalled  int               // rows with the time of the row before
	Open     quantity.Duration // under the gate, all pulls
}

// Stop is how long the pump ran on after the engine stopped with the log
// still running.
type Stop struct {
	After quantity.Duration
	At    quantity.Duration
	Never bool // it still ran at the end of the log, 5 s or more later
	Known bool
}

// Stage is what the second stage of the fuel supply did.
type Stage struct {
	Starts int                        // how often it was commanded on
	Step   Worst[quantity.Difference] // largest change of the pressure difference, signed
	Judged int                        // starts at which a current was logged
	Dead   int                        // of these, at which nothing changed
}

// result turns the sums into what is said.
func (a *analysis) result(log *rows, m Mapping) Result {
	r := Result{
		Mapping: m, Reading: log.reading, Timing: a.timing(log), Pulls: a.pulls, Loaded: a.pullCount, Short: a.shortPulls,
		LowestDrop: lowest[quantity.Difference](a.worst[xDrop]),
		Wave:       a.spectrum.best, Pulsation: highest[quantity.Difference](a.pulsation.worst),
		Duty: highest[quantity.Fraction](a.worst[xDuty]), Static: highest[quantity.Fraction](a.static),
		DutyOff:    highest[quantity.Fraction](a.worstOff),
		DutyLogged: quantity.Fraction(a.offPair[0]), DutyCommand: quantity.Fraction(a.offPair[1]),
		DropOff: highest[quantity.Difference](a.worstOffDrop),
		Lean:    highest[quantity.Lambda](a.worst[xLean]), Rich: highest[quantity.Lambda](a.worst[xRich]),
		Flow:      highest[quantity.MassFlow](a.worst[xFlow]),
		VoltsLost: highest[quantity.Voltage](a.worst[xLost]), PumpVoltage: lowest[quantity.Voltage](a.worst[xPump]),
		BatteryLow: lowest[quantity.Voltage](a.worst[xBattery]), PumpCommand: highest[quantity.Fraction](a.worst[xCommand]),
		Temperature: highest[quantity.Temperature](a.hottest), PumpStop: a.stop(),
		EthanolJump: highest[quantity.Fraction](a.ethanolJump), RailZero: lowest[quantity.Gauge](a.restLow),
		SecondStage: a.secondStage(), Overview: a.overview.points(), throttle: a.samples[sThrottle] > 0,
	}
	if a.worstPull != nil {
		r.Worst = a.worstPull.trace.points()
	}
	a.levels(&r)
	a.falls(&r)
	a.fits(&r)
	r.Signatures = a.signatures(&r)
	r.Proofs = a.proofs(&r)
	return r
}

func (a *analysis) timing(log *rows) Timing {
	t := Timing{
		From: quantity.Duration(a.first), To: quantity.Duration(a.last), Length: quantity.Duration(a.seconds),
		Gaps: a.gaps, Longest: quantity.Duration(a.longest), LongAt: quantity.Duration(a.longestAt),
		Backward: a.backward, Stalled: a.stalled, Open: quantity.Duration(a.openTime), Start: log.clock.start,
	}
	if a.period > 0 {
		t.Rate = Hertz(1 / a.period)
	}
	if a.openTime > 0 {
		t.RailRate = Hertz(a.railSteps / a.openTime)
	}
	return t
}

// levels fills in medians and where they come from.
func (a *analysis) levels(r *Result) {
	if v := a.base.median(); v == v {
		r.Base = Level[quantity.Difference]{quantity.Difference(v), "idle with the reference hose off, in this log", true}
	} else if a.c.Base > 0 {
		r.Base = Level[quantity.Difference]{a.c.Base, "another reading", true}
	}
	r.Light = level[quantity.Difference](a.light.median(), "manifold 60 to 160 kPa abs, in this log")
	r.Ethanol = level[quantity.Fraction](a.ethanol.median(), "logged")
	r.ManifoldZero = level[quantity.Difference](a.keyOff.median(), "before the engine ran")
	switch {
	case a.b.has(sBarometer):
		r.Barometer = level[quantity.Absolute](a.d.m.barometer, "logged")
	case a.c.Barometer > 0:
		r.Barometer = Level[quantity.Absolute]{a.c.Barometer, "given", true}
	default:
		r.Barometer = level[quantity.Absolute](a.d.keyOnMAP, "manifold sensor before the engine ran")
	}
}

func level[Q quantity.Quantity](v float64, from string) Level[Q] {
	if v != v {
		return Level[Q]{}
	}
	return Level[Q]{Q(v), from, true}
}

// falls compares the lowest pressure difference with base and light load.
func (a *analysis) falls(r *Result) {
	low := r.LowestDrop
	if low.Known && r.Base.Known {
		r.Shortfall = Worst[quantity.Difference]{r.Base.Value - low.Value, low.At, true}
	}
	if low.Known && r.Light.Known && a.light.n >= medianSamples {
		r.Fall = Worst[quantity.Difference]{r.Light.Value - low.Value, low.At, true}
	}
	if r.Flow.Known && a.c.Consumption > 0 {
		r.Power = Worst[quantity.Power]{quantity.Power(float64(r.Flow.Value) / float64(a.c.Consumption)), r.Flow.At, true}
	}
}

func (a *analysis) stop() Stop {
	s := a.stopping
	return Stop{quantity.Duration(s.longest), quantity.Duration(s.at), s.never, s.seen}
}

func (a *analysis) secondStage() Stage {
	s := Stage{Starts: a.stage.starts, Judged: a.stage.judged, Dead: a.stage.dead}
	s.Step = highest[quantity.Difference](a.stage.step)
	s.Step.Value = quantity.Difference(a.stage.signed)
	return s
}
