package datalog

import (
	"fmt"
	"math"

	"feedproof/schema/quantity"
)

// The signatures that are single events or belong to one channel.

// slosh, S07: the pressure difference dips where the car is accelerated by
// 0.7 g or the tank is low, and recovers within 1 s.
func (a *analysis) slosh(*Result) outcome {
	if !a.sloshable {
		return cannot("needs acceleration, or fuel level and what is low")
	}
	d := a.dips
	text := fmt.Sprintf("%d of %d dips come with acceleration or low level", d.withG, d.all)
	return saw(d.withG > 0 && 5*d.withG >= 4*d.all, d.deepest.at, text)
}

// heat, S08: the lowest pressure difference falls by 0.05 bar from one pull to
// a later one whose fuel is 5 K warmer.
func (a *analysis) heat(r *Result) outcome {
	if len(r.Pulls) < 2 || !a.b.has(sFuelTemp) {
		return cannot("needs two pulls and fuel temperature")
	}
	var worst extreme
	rise := 0.0
	for i, first := range r.Pulls {
		for _, later := range r.Pulls[i+1:] {
			warmer := float64(later.FuelTemp.Minus(first.FuelTemp))
			fall := float64(first.LowestDrop.Value - later.LowestDrop.Value)
			if first.LowestDrop.Known && later.LowestDrop.Known && warmer >= heatRise && (!worst.seen || fall > worst.value) {
				worst.add(float64(later.From), fall)
				rise = warmer
			}
		}
	}
	if !worst.seen {
		return saw(false, 0, "no pull is 5 K warmer than one before")
	}
	text := fmt.Sprintf("%s lower in a later pull, fuel %.0f K warmer", bar(worst.value), rise)
	return saw(worst.value >= heatFall, worst.at, text)
}

// noisy, S09: the fast part of the pressure difference has three times the
// variance of a good log of this car or else of light load, and no one
// frequency has most of it.
func (a *analysis) noisy(r *Result) outcome {
	healthy := a.noiseLight.variance()
	if a.c.HealthyNoise > 0 {
		healthy = float64(a.c.HealthyNoise) * float64(a.c.HealthyNoise)
	}
	now := a.noisePull.variance()
	if healthy != healthy || now != now {
		return cannot("needs the noise of a good log, or 20 samples at light load, and a pull")
	}
	text := fmt.Sprintf("standard deviation %s, %s when healthy", quantity.Format(quantity.Difference(math.Sqrt(now)), "bar", 3), quantity.Format(quantity.Difference(math.Sqrt(healthy)), "bar", 3))
	return saw(now >= noiseRatio*healthy && math.Sqrt(now) >= noiseLeast && !r.Wave.Known, 0, text)
}

// alias, S10: the strongest wave stands where the injection frequency folds to
// at this sample rate, or it is not known where that is.
func (a *analysis) alias(r *Result) outcome {
	w := r.Wave
	if !w.Known {
		return saw(false, 0, "no wave of 0.06 bar or more in steady sampling")
	}
	text := fmt.Sprintf("%.2g Hz, %s peak to peak; injection %.3g Hz appears at %.2g Hz when sampled at %.3g Hz",
		float64(w.Frequency), bar(float64(w.Swing)), float64(w.Injection), float64(w.Alias), float64(w.Rate))
	if a.c.Cylinders == 0 {
		text = fmt.Sprintf("%.2g Hz, %s peak to peak; the number of cylinders is not known", float64(w.Frequency), bar(float64(w.Swing)))
	}
	return saw(w.MayBeAlias, float64(w.At), text)
}

// stageStep, S11: the pressure difference steps by 0.15 bar when the second
// stage is commanded on.
func (a *analysis) stageStep(r *Result) outcome {
	if !a.stage.step.seen {
		return cannot("needs the second stage commanded on, and rail pressure")
	}
	text := fmt.Sprintf("%s within %.1f s of the command", bar(a.stage.signed), stageSettle)
	return saw(a.stage.step.value >= stageStep, a.stage.step.at, text)
}

// stageDead, S12: neither current, voltage nor pressure changes.
func (a *analysis) stageDead(*Result) outcome {
	if a.stage.judged == 0 {
		return cannot("needs the second stage commanded on, and pump current")
	}
	return saw(a.stage.dead > 0, 0, fmt.Sprintf("nothing changed at %d of %d starts", a.stage.dead, a.stage.judged))
}

// staticInjectors, S13: commanded duty of 95 % or more and the pulse width
// still rises.
func (a *analysis) staticInjectors(r *Result) outcome {
	if !a.b.has(sPulse) {
		return cannot("needs pulse width")
	}
	if !a.static.seen || a.static.value < staticDuty {
		return saw(false, 0, "the pulse width never rises at 95 % duty")
	}
	return saw(true, a.static.at, fmt.Sprintf("%s commanded and the pulse width still rising", percent(a.static.value)))
}

// lambdaDead, S14.
func (a *analysis) lambdaDead(*Result) outcome {
	if !a.b.has(sLambda) {
		return cannot("needs lambda")
	}
	return saw(a.lambda.longest > lambdaFlat, a.lambda.at, fmt.Sprintf("within 0.001 for %.1f s at most", a.lambda.longest))
}

// railDead, S15.
func (a *analysis) railDead(*Result) outcome {
	if !a.b.has(sRail) || !a.b.has(sManifold) {
		return cannot(needRail)
	}
	text := fmt.Sprintf("one rail value over %s of manifold pressure at most", quantity.Format(quantity.Difference(a.constant.span), "kPa", 0))
	return saw(a.constant.span >= constantSpan, a.constant.at, text)
}

// manifoldScale, S16.
func (a *analysis) manifoldScale(r *Result) outcome {
	if !r.ManifoldZero.Known {
		return cannot("needs key on, engine off at the start of the log, and a barometer")
	}
	off := float64(r.ManifoldZero.Value)
	return saw(math.Abs(off) > manifoldZero, 0, fmt.Sprintf("%s off the barometer", quantity.Format(quantity.Difference(off), "kPa", 1)))
}

// ethanolJumps, S17.
func (a *analysis) ethanolJumps(*Result) outcome {
	if !a.ethanolJump.seen {
		return cannot("needs ethanol")
	}
	return saw(a.ethanolJump.value > ethanolStep, a.ethanolJump.at, fmt.Sprintf("%s in 1 s at most", percent(a.ethanolJump.value)))
}
