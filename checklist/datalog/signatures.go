package datalog

import (
	"cmp"
	"slices"

	"feedproof/schema/quantity"
)

// State says whether a signature is in the log.
type State string

// States of a signature.
const (
	Seen       State = "seen"
	NotSeen    State = "not seen"
	CannotTell State = "cannot tell" // what it needs was not logged
)

// Signature is the picture of one fault, and whether the log shows it.
type Signature struct {
	ID     string
	Name   string
	State  State
	At     quantity.Duration // where it shows best; 0 when it has no one time
	Text   string            // the numbers
	Causes []string          // likely causes, the likeliest first
	Next   string            // the next check
}

// Limits of the signatures (common practice, suggested).
const (
	plateauBand   = 0.03e5 // Pa, each way
	plateauRise   = 15e3   // Pa of manifold pressure
	plateauPoints = 4
	kneeBand      = 0.03e5 // Pa
	kneeFall      = 0.05e5 // Pa
	kneeFlow      = 0.85   // of the highest flow
	droopR2       = 0.9
	halfFlow      = 0.5
	voltageR2     = 0.8
	voltageDrop   = 0.8 // V
	slopeLow      = 0.94
	slopeR2       = 0.95
	offsetLeast   = 0.1e5 // Pa
	offsetSlope   = 0.03
	heatFall      = 0.05e5 // Pa, pull to pull
	heatRise      = 5.0    // K
	noiseRatio    = 3.0
	noiseLeast    = 0.02e5 // Pa, standard deviation
	stageStep     = 0.15e5 // Pa
	staticDuty    = 0.95
	risingPulse   = 0.2e-3 // s in a second; less may be noise
	lambdaFlat    = 2.0    // s
	constantSpan  = 20e3   // Pa of manifold pressure
	manifoldZero  = 3e3    // Pa
	ethanolStep   = 0.10   // in 1 s
)

// outcome is what a test of a signature found.
type outcome struct {
	state State
	at    float64
	text  string
}

func cannot(why string) outcome { return outcome{state: CannotTell, text: why} }

func saw(seen bool, at float64, text string) outcome {
	if seen {
		return outcome{Seen, at, text}
	}
	return outcome{NotSeen, 0, text}
}

// signature is one line of the table of signatures. rank orders those that are
// seen: what explains the most, and what voids other evidence, comes first.
type signature struct {
	id, name string
	rank     int
	test     func(*analysis, *Result) outcome
	causes   []string
	next     string
}

var signatureTable = []signature{
	{"S01", "plateau", 20, (*analysis).plateau,
		[]string{"pump relief valve", "relief inside the module", "spring limit of the regulator"},
		"measure the static stall pressure; compare plateau and line loss with the relief's rating (DT01)"},
	{"S02", "knee", 31, (*analysis).knee,
		[]string{"supply exhausted: worn pump", "low voltage at the pump", "blocked filter or sock upstream of the pump", "pump too small"},
		"pump volts and current at load (V-11), timed flow at pressure (V-12), filter drop (V-14), look at the sock (D01k)"},
	{"S03", "droop with flow", 30, (*analysis).droop,
		[]string{"restriction between the controlled point and the injectors: returnless line", "regulator upstream of the rail", "small-bore fitting or sensor", "rails in series"},
		"gauge at both ends of the feed at full flow (DT02)"},
	{"S04", "falls with voltage", 25, (*analysis).voltage,
		[]string{"wire, relay or connector to the pump", "ground of the pump", "alternator"},
		"split the volts lost, source to pump and pump to ground, at load (V-11); jump-feed the pump and see the pressure recover (DT03)"},
	{"S05", "reference", 35, (*analysis).referenceSlope,
		[]string{"reference hose leaks or is teed", "reference from the wrong port", "restrictor and a leak", "slope near 0: hose off or blocked, or a regulator without reference (DT09)"},
		"slope with a hand pump on the regulator (V-07) (DT08)"},
	{"S06", "offset", 40, (*analysis).offset,
		[]string{"base pressure set wrong", "sensor or gauge offset", "map assumes another base"},
		"zero of the sensor, second gauge (DT06); pump off: a reading near 1.0 bar is an absolute sensor (DT07)"},
	{"S07", "slosh", 50, (*analysis).slosh,
		[]string{"fuel thrown from the pick-up", "low level", "reservoir does not fill", "pressure head in acceleration"},
		"fuel level and acceleration beside the pressure; fill and repeat (DT05)"},
	{"S08", "worse from pull to pull", 45, (*analysis).heat,
		[]string{"fuel heats and forms vapour", "sock clogs", "controller limits when hot"},
		"fuel temperature and suction vacuum (V-15, V-16); wait and repeat (DT04)"},
	{"S09", "wide-band noise", 55, (*analysis).noisy,
		[]string{"cavitation: suction filter too fine or blocked", "hot fuel", "low level", "air drawn in"},
		"suction vacuum with the fuel at its hottest (V-15), temperature (DT15)"},
	{"S10", "wave that may be pulsation sampled too slowly", 60, (*analysis).alias,
		[]string{"injection pulsation folded by the sample rate", "regulator hunting", "air in the fuel"},
		"log again at 1 kHz or more, or hold the engine 200 rpm higher: the frequency of an alias changes at once (DT13)"},
	{"S11", "step at the second stage", 50, (*analysis).stageStep,
		[]string{"return or regulator too small for both pumps", "second pump starts late"},
		"base pressure with one and with both pumps (V-13, V-21) (DT32)"},
	{"S12", "second stage does nothing", 22, (*analysis).stageDead,
		[]string{"second pump dead", "its fuse, relay or wire", "its check valve stuck"},
		"run each pump alone (V-21) (DT33)"},
	{"S13", "injectors static", 24, (*analysis).staticInjectors,
		[]string{"injectors too small", "pressure difference low", "dead time of the map wrong"},
		"plan: effective duty at this power; pressure difference (DT17)"},
	{"S14", "lambda does not move", 11, (*analysis).lambdaDead,
		[]string{"sensor dead or cold", "replacement value of the controller", "logger resolution too coarse"},
		"free air, then a rich and a lean snap: the reading must move"},
	{"S15", "rail pressure does not move", 10, (*analysis).railDead,
		[]string{"regulator without reference, or its hose off or blocked", "sensor dead or held by the logger"},
		"hose off and on at idle (V-08); second gauge (DT09)"},
	{"S16", "manifold sensor off at rest", 12, (*analysis).manifoldScale,
		[]string{"scale or offset of the manifold sensor", "gauge and absolute mixed up", "wrong barometer"},
		"key on, engine off: manifold must read the barometer; correct the scale and map the log again"},
	{"S17", "ethanol jumps", 14, (*analysis).ethanolJumps,
		[]string{"front of new fuel at the sensor", "air in the sensor", "sensor or wiring"},
		"water test of a sample (V-18) (DT34)"},
}

func (a *analysis) signatures(r *Result) []Signature {
	var out []Signature
	for _, s := range signatureTable {
		o := s.test(a, r)
		out = append(out, Signature{s.id, s.name, o.state, quantity.Duration(o.at), o.text, s.causes, s.next})
		r.Signatures = out
	}
	return out
}

// Signature is one of the result's signatures by id.
func (r Result) Signature(id string) (Signature, bool) {
	i := slices.IndexFunc(r.Signatures, func(s Signature) bool { return s.ID == id })
	if i < 0 {
		return Signature{}, false
	}
	return r.Signatures[i], true
}

func (r Result) sees(id string) bool {
	s, _ := r.Signature(id)
	return s.State == Seen
}

// Named lists the signatures that were seen, the one to follow first at the
// front: what voids other evidence, then what explains the fall of pressure
// most closely.
func (r Result) Named() []Signature {
	var out []Signature
	for _, s := range r.Signatures {
		if s.State == Seen {
			out = append(out, s)
		}
	}
	slices.SortStableFunc(out, func(a, b Signature) int { return cmp.Compare(rankOf(a.ID), rankOf(b.ID)) })
	return out
}

func rankOf(id string) int {
	for _, s := range signatureTable {
		if s.id == id {
			return s.rank
		}
	}
	return 0
}
