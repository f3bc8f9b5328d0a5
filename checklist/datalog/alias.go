package datalog

import (
	"math"

	"feedproof/schema/quantity"
)

// Hertz is a frequency, 1/s.
type Hertz float64

// InjectionFrequency is how often the rail is drawn from: each cylinder of a
// four-stroke engine once in two turns, when injection is sequential.
//
//	f = n * cylinders / 2,  n in turns a second
func InjectionFrequency(n quantity.EngineSpeed, cylinders int) Hertz {
	return Hertz(float64(n) * float64(cylinders) / 2)
}

// AliasFrequency is where a line of frequency f shows in samples taken rate
// times a second: folded to the nearest whole multiple of the rate.
//
//	fa = |f - rate * round(f / rate)|,  0 <= fa <= rate/2
//
// Source: A. V. Oppenheim and R. W. Schafer, Discrete-Time Signal Processing,
// chapter 4, sampling of a sinusoid. A rate of zero or less gives NaN.
func AliasFrequency(f, rate Hertz) Hertz {
	if !(rate > 0) {
		return Hertz(nan)
	}
	return Hertz(math.Abs(float64(f) - float64(rate)*math.Round(float64(f)/float64(rate))))
}

// Limits of what is called an alias: a slow wave within 15 % of where the
// injection frequency, or its second harmonic, folds to is not evidence of
// hunting (common practice). Below half a hertz a pull is too short to tell
// the wave from a constant offset.
const (
	aliasShare = 0.15
	aliasZero  = Hertz(0.5)
)

// nearAlias reports that a wave may be injection pulsation seen too slowly.
// resolution is the width of a line in the spectrum.
func nearAlias(wave, injection, rate, resolution Hertz) bool {
	for harmonic := Hertz(1); harmonic <= 2; harmonic++ {
		alias := AliasFrequency(harmonic*injection, rate)
		if math.Abs(float64(wave-alias)) <= math.Max(aliasShare*float64(alias), float64(resolution)) {
			return true
		}
	}
	return false
}
