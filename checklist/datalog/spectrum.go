package datalog

import (
	"math"

	"gonum.org/v1/gonum/dsp/fourier"

	"feedproof/schema/quantity"
)

// Wave is the strongest oscillation of the pressure difference that was seen
// in a stretch of steady sampling.
type Wave struct {
	Known      bool
	At         quantity.Duration   // when the stretch ended
	Length     quantity.Duration   // of the stretch
	Frequency  Hertz               // as it appears in the log
	Swing      quantity.Difference // peak to peak
	Share      quantity.Fraction   // of the variance that is in this one line
	Speed      quantity.EngineSpeed
	Rate       Hertz // samples a second
	Injection  Hertz // injection frequency at that speed; 0 when cylinders are not known
	Alias      Hertz // where the injection frequency appears at this rate
	MayBeAlias bool  // too near the alias to be called anything else, or no cylinders known
}

const (
	waveSamples = 128
	waveSwing   = 0.06e5 // Pa peak to peak, below which it is noise
	waveShare   = 0.5    // of the variance in one line
	waveCycles  = 3      // in a stretch; fewer are a slope or a step
	jitter      = 0.25   // of a period, by which samples may be off
	// A stretch of less variance cannot have a line of waveSwing: by Parseval's
	// theorem the swing of [spectrum.keep] squared is at most 64/3 of it.
	waveVariance = 3 * waveSwing * waveSwing / 64
)

// hann is the window that is laid over a stretch.
var hann = func() (w [waveSamples]float64) {
	for i := range w {
		w[i] = (1 - math.Cos(2*math.Pi*float64(i)/waveSamples)) / 2
	}
	return w
}()

// spectrum takes the pressure difference in stretches of 128 samples and keeps
// the strongest line.
type spectrum struct {
	cylinders       int
	fft             *fourier.FFT
	at, drop, speed [waveSamples]float64
	n               int
	best            Wave
	coeff           []complex128
}

func (s *spectrum) add(at, drop, speed float64) {
	if !s.steady(at) {
		s.n = 0
	}
	s.at[s.n], s.drop[s.n], s.speed[s.n] = at, drop, speed
	if s.n++; s.n == waveSamples {
		s.judge()
		s.n = 0
	}
}

// steady reports that a sample comes as long after the last as the second came
// after the first.
func (s *spectrum) steady(at float64) bool {
	switch s.n {
	case 0:
		return true
	case 1:
		return at > s.at[0]
	}
	step, usual := at-s.at[s.n-1], s.at[1]-s.at[0]
	return step > 0 && math.Abs(step-usual) <= jitter*usual
}

func (s *spectrum) reset() { s.n = 0 }

// judge takes mean and slope off, weighs by a Hann window against leakage, and
// finds the strongest line with its neighbours.
func (s *spectrum) judge() {
	if s.fft == nil {
		s.fft = fourier.NewFFT(waveSamples)
	}
	if s.flatten() < waveVariance {
		return
	}
	s.coeff = s.fft.Coefficients(s.coeff, s.drop[:])
	total, top := 0.0, 0
	power := func(i int) float64 { return real(s.coeff[i])*real(s.coeff[i]) + imag(s.coeff[i])*imag(s.coeff[i]) }
	for i := 1; i < len(s.coeff); i++ {
		total += power(i)
		if top == 0 || power(i) > power(top) {
			top = i
		}
	}
	line := 0.0
	for i := max(top-1, 1); i <= min(top+1, len(s.coeff)-1); i++ {
		line += power(i)
	}
	s.keep(top, line, total)
}

// flatten leaves the windowed remainder in place and is the variance before.
func (s *spectrum) flatten() float64 {
	const middle = (waveSamples - 1) / 2.0
	const spread = waveSamples * (waveSamples*waveSamples - 1) / 12.0 // sum of (i - middle) squared
	mean, slope := 0.0, 0.0
	for i, v := range s.drop {
		mean += v / waveSamples
		slope += (float64(i) - middle) * v / spread
	}
	variance := 0.0
	for i, v := range s.drop {
		rest := v - mean - slope*(float64(i)-middle)
		variance += rest * rest / waveSamples
		s.drop[i] = rest * hann[i]
	}
	return variance
}

// keep turns the line into a wave. A sine of amplitude a under a Hann window
// has 3/32*n^2*a^2 of power in its three lines (n samples; one side).
func (s *spectrum) keep(top int, line, total float64) {
	ended := s.at[waveSamples-1]
	length := ended - s.at[0]
	rate := (waveSamples - 1) / length
	swing := 2 * math.Sqrt(line*32/3) / waveSamples
	if top < waveCycles || swing < waveSwing || line < waveShare*total || swing <= float64(s.best.Swing) {
		return
	}
	var speeds moments // against time
	for i, at := range s.at {
		speeds.add(at, s.speed[i])
	}
	w := Wave{
		Known: true, At: quantity.Duration(ended), Length: quantity.Duration(length),
		Frequency: Hertz(float64(top) * rate / waveSamples), Swing: quantity.Difference(swing), Share: quantity.Fraction(line / total),
		Speed: quantity.EngineSpeed(speeds.meanY), Rate: Hertz(rate), MayBeAlias: true,
	}
	if s.cylinders > 0 {
		w.Injection = InjectionFrequency(w.Speed, s.cylinders)
		w.Alias = AliasFrequency(w.Injection, w.Rate)
		sweep := Hertz(speeds.slope() * length * float64(s.cylinders) / 4)
		width := Hertz(1.5*rate/waveSamples) + Hertz(math.Abs(float64(sweep)))
		w.MayBeAlias = nearAlias(w.Frequency, w.Injection, w.Rate, width)
	}
	s.best = w
}
