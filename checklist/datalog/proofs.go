package datalog

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"feedproof/schema/quantity"
)

// ProofState says what a log is worth in one respect.
type ProofState string

// States of a proof.
const (
	Proven   ProofState = "OK"
	Unproven ProofState = "UNPROVEN"    // the limits it concerns cannot be judged
	Auditor  ProofState = "FOR AUDITOR" // it can be judged, and somebody should look at why
)

// Proof is one respect in which a log was looked at.
type Proof struct {
	Check  string
	State  ProofState
	Text   string
	Limits []string // that it concerns
}

// Limits of proof (common practice).
const (
	leastRate      = 10.0 // Hz of rail pressure, for a median of 0.3 s
	pulsationRate  = 1000.0
	shortPull      = 3.0     // s: neither knee nor heat
	releasePull    = 5.0     // s
	releasePulls   = 3       //
	longFilter     = 0.5     // s
	smoothLeast    = 0.003e5 // Pa
	heldShare      = 0.05
	railZeroLeast  = 0.8e5 // Pa: near one atmosphere is the wrong reference
	railZeroMost   = 1.2e5
	dutyApart      = 0.02
	dropApart      = 0.03e5 // Pa
	outsideShare   = 0.01
	zeroAliasShare = 0.25
)

var proofTable = []func(*analysis, *Result) Proof{
	proveText, proveTime, proveChannels, proveByHand, provePulls, proveLength, proveHeat, proveRate, provePulsation, proveSpan, proveLight, proveBase,
	proveBarometer, proveFilter, proveCharger, proveHeld, proveSmooth, proveKeyOn, proveRailZero, proveGate, proveRange, proveDuty, proveDrop,
	proveAlias, proveStage, proveStop,
}

func (a *analysis) proofs(r *Result) []Proof {
	var out []Proof
	for _, prove := range proofTable {
		out = append(out, prove(a, r))
	}
	return out
}

// when is state with text if bad, else OK.
func when(bad bool, state ProofState, check, text, good string, limits ...string) Proof {
	if bad {
		return Proof{check, state, text, limits}
	}
	return Proof{check, Proven, good, limits}
}

func proveText(a *analysis, r *Result) Proof {
	var odd []string
	t := r.Reading
	if t.Bad > 0 {
		odd = append(odd, fmt.Sprintf("rows that cannot be read: %d, first line %d", t.Bad, t.BadRows[0].Line))
	}
	if t.Texts > 0 {
		odd = append(odd, fmt.Sprintf("cells that hold text: %d", t.Texts))
	}
	if t.Mixed {
		odd = append(odd, "decimal points and decimal commas are mixed: the file may have been edited")
	}
	if t.Headers > 0 {
		odd = append(odd, fmt.Sprintf("repeats of the header: %d", t.Headers))
	}
	return when(len(odd) > 0, Auditor, "text", strings.Join(odd, "; "), "every row was read")
}

func proveTime(a *analysis, r *Result) Proof {
	var odd []string
	t := r.Timing
	if t.Backward > 0 {
		odd = append(odd, fmt.Sprintf("steps back in time: %d", t.Backward))
	}
	if t.Gaps > 0 {
		odd = append(odd, fmt.Sprintf("%d gaps, the longest %.2f s at %.2f s", t.Gaps, float64(t.Longest), float64(t.LongAt)))
	}
	if 100*t.Stalled > r.Reading.Rows {
		odd = append(odd, fmt.Sprintf("rows with the time of the row before: %d", t.Stalled))
	}
	return when(len(odd) > 0, Auditor, "time", strings.Join(odd, "; "), "time runs on evenly")
}

// missing lists the channels without which a loaded test cannot be released.
func (a *analysis) missing() []string {
	var out []string
	need := func(c Channel, in ...slot) {
		for _, s := range in {
			if a.samples[s] > 0 {
				return
			}
		}
		out = append(out, string(c))
	}
	need(EngineSpeed, sSpeed)
	need(Manifold, sManifold)
	need(Rail, sRail)
	need("pulse width or duty", sPulse, sDuty)
	need(Lambda, sLambda, sLambdaTwo)
	if a.c.Target == 0 {
		need(LambdaTarget, sTarget)
	}
	need(Battery, sBattery)
	return out
}

func proveChannels(a *analysis, r *Result) Proof {
	missing := a.missing()
	return when(len(missing) > 0, Unproven, "channels", "not logged: "+strings.Join(missing, ", "), "the channels of a loaded test are logged", limitsWithout(missing)...)
}

func limitsWithout(missing []string) []string {
	if len(missing) == 0 {
		return nil
	}
	by := map[string][]string{
		string(EngineSpeed): {"L03", "L04a", "L04b", "L05", "L10", "L14"}, string(Manifold): {"L04a", "L04b", "L05"}, string(Rail): {"L04a", "L04b", "L05", "L24"},
		"pulse width or duty": {"L03"}, string(Lambda): {"L14"}, string(LambdaTarget): {"L14"}, string(Battery): {"L10"},
	}
	var out []string
	for _, m := range missing {
		out = append(out, by[m]...)
	}
	slices.Sort(out)
	return slices.Compact(out)
}

// proveByHand names what may be measured by hand instead.
func proveByHand(a *analysis, r *Result) Proof {
	var odd, limits []string
	for _, c := range [...]struct {
		s      slot
		name   Channel
		limits []string
	}{{sPump, PumpVoltage, []string{"L10", "L10b"}}, {sFuelTemp, FuelTemp, []string{"L13"}}, {sEthanol, Ethanol, []string{"X13"}}} {
		if a.samples[c.s] == 0 {
			odd, limits = append(odd, string(c.name)), append(limits, c.limits...)
		}
	}
	return when(len(odd) > 0, Unproven, "by hand", "not logged, measure by hand: "+strings.Join(odd, ", "), "pump voltage, fuel temperature and ethanol are logged", limits...)
}

func provePulls(a *analysis, r *Result) Proof {
	return when(r.Loaded == 0, Unproven, "pulls", fmt.Sprintf("no loaded pull of 1.0 s (%d shorter)", r.Short), fmt.Sprintf("%d loaded pulls", r.Loaded),
		"L03", "L04a", "L04b", "L10", "L10b", "L14", "X08")
}

func proveLength(a *analysis, r *Result) Proof {
	longest := 0.0
	for _, p := range r.Pulls {
		longest = max(longest, float64(p.Open))
	}
	return when(longest < shortPull, Unproven, "length", fmt.Sprintf("the longest pull counts %.1f s: too short for a knee to show", longest), fmt.Sprintf("the longest pull counts %.1f s", longest),
		"L03", "L04a", "L04b", "L14")
}

// proveHeat holds the log to three pulls of 5 s.
func proveHeat(a *analysis, r *Result) Proof {
	long := 0
	for _, p := range r.Pulls {
		if float64(p.Open) >= releasePull {
			long++
		}
	}
	return when(long < releasePulls, Unproven, "repeats", fmt.Sprintf("%d of %d pulls of 5 s", long, releasePulls), fmt.Sprintf("%d pulls of 5 s", long), "L13", "S08")
}

func proveRate(a *analysis, r *Result) Proof {
	rate := float64(r.Timing.RailRate)
	return when(rate < leastRate*0.98, Unproven, "rate", fmt.Sprintf("rail pressure %.1f times a second in the pulls, 10 needed", rate), fmt.Sprintf("rail pressure %.0f times a second", rate),
		"L04a", "L04b")
}

func provePulsation(a *analysis, r *Result) Proof {
	return when(!r.Pulsation.Known, Unproven, "pulsation", "needs rail pressure 1000 times a second", "sampled fast enough", "L24")
}

func proveSpan(a *analysis, r *Result) Proof {
	return when(!r.Slope.Known, Unproven, "span", fmt.Sprintf("manifold pressure spans %s, 100 kPa needed", quantity.Format(quantity.Difference(r.Slope.Span), "kPa", 0)),
		fmt.Sprintf("manifold pressure spans %s", quantity.Format(quantity.Difference(r.Slope.Span), "kPa", 0)), "L05")
}

func proveLight(a *analysis, r *Result) Proof {
	return when(!r.Light.Known || a.light.n < medianSamples, Unproven, "light load", "no light load, manifold 60 to 160 kPa abs: the log started late", "light load was logged", "L04b")
}

func proveBase(a *analysis, r *Result) Proof {
	same := a.base.n >= medianSamples || a.c.Base > 0 && a.c.SameSensor
	text := "no idle with the reference hose off"
	if a.c.Base > 0 {
		text = "the base was not read on this sensor in this session"
	}
	return when(!same, Unproven, "base", text, "the base was read on this sensor, reference hose off", "L04a")
}

func proveBarometer(a *analysis, r *Result) Proof {
	need := a.d.railRef != a.d.mapRef && (a.d.railRef == Gauge || a.d.mapRef == Gauge)
	return when(need && !r.Barometer.Known, Unproven, "barometer", "gauge against absolute needs a barometer", "not needed or known", "L04a", "L04b", "L05")
}

func proveFilter(a *analysis, r *Result) Proof {
	var odd []string
	for _, s := range [...]struct {
		slot slot
		name Channel
	}{{sRail, Rail}, {sManifold, Manifold}, {sPulse, PulseWidth}, {sLambda, Lambda}} {
		b := a.b.bySlot[s.slot]
		switch {
		case b == nil:
		case b.filter != b.filter:
			odd = append(odd, fmt.Sprintf("filter of %s not known", s.name))
		case b.filter >= longFilter:
			odd = append(odd, fmt.Sprintf("%s filtered over %.2g s", s.name, b.filter))
		}
	}
	return when(len(odd) > 0, Unproven, "filter", strings.Join(odd, "; "), "filters are known and shorter than 0.5 s", "L03", "L04a", "L04b", "L14")
}

func proveCharger(a *analysis, r *Result) Proof {
	text := "a battery charger was connected"
	if a.c.Charger == Unknown {
		text = "not said whether a battery charger was connected"
	}
	return when(a.c.Charger != No, Unproven, "charger", text, "no battery charger connected", "L10", "L10b")
}

func proveHeld(a *analysis, r *Result) Proof {
	var long, many []string
	for _, h := range a.held {
		if h.longest <= heldSamples {
			continue
		}
		text := fmt.Sprintf("%s the same %d times, %.2f s, at %.2f s", channelOf(h.slot), h.longest, h.duration, h.at)
		if h.duration >= medianWindow && h.slot != sManifold {
			long = append(long, text)
		} else if h.share() > heldShare {
			many = append(many, text)
		}
	}
	if len(long) > 0 {
		return Proof{"held samples", Unproven, strings.Join(append(long, many...), "; "), []string{"L03", "L04a", "L04b", "L14"}}
	}
	return when(len(many) > 0, Auditor, "held samples", strings.Join(many, "; "), "samples are not held")
}

func proveSmooth(a *analysis, r *Result) Proof {
	s := a.smooth
	text := fmt.Sprintf("the pressure difference moves by %s over 3 s at %.1f s: no sensor is so quiet", quantity.Format(quantity.Difference(s.least), "bar", 4), s.at)
	return when(s.reported && s.least < smoothLeast, Unproven, "noise", text, "the noise is that of a sensor", "L04a", "L04b", "X21")
}

func proveKeyOn(a *analysis, r *Result) Proof {
	if !r.ManifoldZero.Known {
		return Proof{"key on", Auditor, "no key-on reading of the manifold sensor against a barometer before the engine ran", []string{"S16"}}
	}
	off := float64(r.ManifoldZero.Value)
	return when(math.Abs(off) > manifoldZero, Unproven, "key on", fmt.Sprintf("the manifold sensor is %s off the barometer", quantity.Format(quantity.Difference(off), "kPa", 1)),
		"the manifold sensor reads the barometer", "L04a", "L04b", "L05")
}

func proveRailZero(a *analysis, r *Result) Proof {
	zero := math.Abs(float64(r.RailZero.Value))
	bad := r.RailZero.Known && zero >= railZeroLeast && zero <= railZeroMost
	return when(bad, Unproven, "rail zero", fmt.Sprintf("rail reads %s with the engine still: gauge and absolute may be mixed up", bar(float64(r.RailZero.Value))),
		"rail does not read one atmosphere at rest", "L04a", "L05", "X12")
}

func proveGate(a *analysis, r *Result) Proof {
	return when(a.samples[sThrottle] == 0, Auditor, "gate", "throttle is not logged: pulls are where the manifold is at 90 % of the barometer or more", "pulls are where the throttle is at 90 % or more")
}

func proveRange(a *analysis, r *Result) Proof {
	var odd []string
	for _, s := range specs {
		if s.slot >= 0 && float64(a.outside[s.slot]) > outsideShare*float64(a.samples[s.slot]) {
			odd = append(odd, fmt.Sprintf("%s %d of %d", s.channel, a.outside[s.slot], a.samples[s.slot]))
		}
	}
	return when(len(odd) > 0, Auditor, "range", "outside what can be: "+strings.Join(odd, "; "), "values are within what can be")
}

func proveDuty(a *analysis, r *Result) Proof {
	text := fmt.Sprintf("logged duty %s where pulse width and speed give %s: injections per cycle, a second bank, or an edited file", percent(float64(r.DutyLogged)), percent(float64(r.DutyCommand)))
	return when(r.DutyOff.Known && r.DutyOff.Value > dutyApart, Unproven, "duty", text, "logged and computed duty agree or only one is logged", "L03", "X06")
}

func proveDrop(a *analysis, r *Result) Proof {
	text := fmt.Sprintf("logged pressure difference is %s off rail less manifold", bar(float64(r.DropOff.Value)))
	return when(r.DropOff.Known && r.DropOff.Value > dropApart, Unproven, "difference", text, "logged and computed pressure difference agree or only one is logged", "L04a", "L04b", "X07")
}

// proveAlias looks for the injection frequency folding to a false offset.
func proveAlias(a *analysis, r *Result) Proof {
	if r.Wave.Known && r.Wave.MayBeAlias {
		return Proof{"alias", Unproven, "a wave may be injection pulsation sampled too slowly: " + a.alias(r).text, []string{"S10"}}
	}
	zero, n := 0, 0
	for _, p := range r.Worst {
		if a.c.Cylinders == 0 || !known(p.Speed) || float64(r.Timing.RailRate) >= pulsationRate {
			continue
		}
		n++
		if AliasFrequency(InjectionFrequency(p.Speed, a.c.Cylinders), r.Timing.RailRate) < aliasZero {
			zero++
		}
	}
	bad := n > 0 && float64(zero) > zeroAliasShare*float64(n)
	return when(bad, Unproven, "alias", "the injection frequency folds to nearly 0 Hz: pulsation may look like an offset", "no wave is taken for hunting", "L04a", "L04b")
}

func proveStage(a *analysis, r *Result) Proof {
	never := a.b.has(sStage) && !a.stage.on && a.stage.starts == 0
	below := a.c.StageAt > 0 && a.highestRunning < float64(a.c.StageAt)
	return when(never || below, Unproven, "second stage", "the second stage never ran: half of the system is not tested", "the second stage ran or there is none", "HP7")
}

func proveStop(a *analysis, r *Result) Proof {
	return when(!r.PumpStop.Known, Unproven, "pump stop", "the log does not show the pump stopping after the engine", "the pump's stop was logged", "L25")
}
