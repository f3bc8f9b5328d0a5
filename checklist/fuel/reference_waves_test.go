package fuel

import (
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"

	"feedproof/schema/quantity"
)

// Here: waves in pipes by their closed forms. The published rows hold
// them, and through them what the program computes; no program calls them.

// WaveSpeed of a pressure wave in a line: sqrt((K/rho)/(1 + K D/(E e))) with
// the bulk modulus K, the wall's modulus E and thickness e; E zero is rigid.
// Moduli in Pa. Rubber and PTFE hose have no published modulus: take a wide
// range. Source: Korteweg, in Wylie & Streeter, Fluid Transients, c1 = 1.
func WaveSpeed(bulk float64, rho quantity.Density, wallModulus float64, bore, wall quantity.Length) quantity.Speed {
	compliance := 1.0
	if wallModulus > 0 {
		compliance += bulk * float64(bore) / (wallModulus * float64(wall))
	}
	return quantity.Speed(math.Sqrt(bulk / float64(rho) / compliance))
}

// SurgePressure of a flow stopped faster than a wave runs up and back the
// line, 2L/a: rho a dV. Source: Joukowsky.
func SurgePressure(rho quantity.Density, wave, stopped quantity.Speed) quantity.Difference {
	return quantity.Difference(float64(rho) * float64(wave) * float64(stopped))
}

// WallModulus is Young's modulus of a tube's material by its name. Plastics and
// hoses are not here: theirs depends on make, temperature and fuel taken up.
func WallModulus(material string) (float64, error) {
	name := strings.Replace(strings.ToLower(material), "aluminum", "aluminium", 1)
	if e, ok := wallModulus[name]; ok {
		return e, nil
	}
	return 0, fmt.Errorf("tube of %q: no modulus known; known are %s", material, strings.Join(slices.Sorted(maps.Keys(wallModulus)), ", "))
}

// Impedance of a line to waves, Pa s/m3: rho a/A. Source: Wylie & Streeter,
// Fluid Transients.
func Impedance(rho quantity.Density, wave quantity.Speed, bore quantity.Length) float64 {
	return float64(rho) * float64(wave) / area(bore)
}

// QuarterWave is the first frequency, Hz, of a line open at the supply and
// closed at its end: a/(4L).
func QuarterWave(wave quantity.Speed, length quantity.Length) float64 {
	return float64(wave) / (4 * float64(length))
}

// LumpedFrequency is 1/(2 pi sqrt(I C)) in Hz with the fuel of the line as one
// mass, I = rho L/A, and a compliance in m3/Pa at its end. Source: Helmholtz resonator.
func LumpedFrequency(rho quantity.Density, length, bore quantity.Length, compliance float64) float64 {
	return 1 / (2 * math.Pi * math.Sqrt(float64(rho)*float64(length)/area(bore)*compliance))
}

// EndFrequency is the exact first frequency, Hz, of a line with a compliance in
// m3/Pa at its end: tan(w L/a) = 1/(Z w C).
func EndFrequency(rho quantity.Density, wave quantity.Speed, length, bore quantity.Length, compliance float64) float64 {
	z, most := Impedance(rho, wave, bore), math.Pi*float64(wave)/(2*float64(length))
	w := crossing(quantity.Fraction(most*1e-9), quantity.Fraction(most*(1-1e-9)), func(w quantity.Fraction) float64 {
		sin, cos := math.Sincos(float64(w) * float64(length) / float64(wave))
		return cos - sin*z*float64(w)*compliance
	})
	return float64(w) / (2 * math.Pi)
}

// WaveDecay is the rate, 1/s, at which every wave dies in a line with a linear
// resistance per metre, Pa s/m4: R' A/(2 rho). Source: telegraph equation.
func WaveDecay(rho quantity.Density, bore quantity.Length, resistance float64) float64 {
	return resistance * area(bore) / (2 * float64(rho))
}

// Ringing is what is left of the first wave of a line, open at the supply and
// closed at its end, after a time: e^(-st) (cos wt + s/w sin wt), s by
// [WaveDecay]. Source: telegraph equation, first mode.
func Ringing(rho quantity.Density, wave quantity.Speed, length, bore quantity.Length, resistance float64, after quantity.Duration) float64 {
	s, free := WaveDecay(rho, bore, resistance), 2*math.Pi*QuarterWave(wave, length)
	w, t := math.Sqrt(free*free-s*s), float64(after)
	return math.Exp(-s*t) * (math.Cos(w*t) + s/w*math.Sin(w*t))
}

// OpensInto is the pressure at an injector that opens in a long rail at rest,
// and its flow: 2 (p0 - p)/Z = K sqrt p.
func OpensInto(rest quantity.Difference, impedance float64, static quantity.Flow, rated quantity.Difference) (quantity.Difference, quantity.Flow) {
	p, q := tap(2/impedance, 2/impedance*float64(rest), float64(static)/math.Sqrt(float64(rated)))
	return quantity.Difference(p), quantity.Flow(q)
}

// FreeWave is a line open to a constant pressure, taken as zero, at its near
// side; the far side is closed, or carries a compliance in m3/Pa. It starts with
// pressures and flows over its nodes and is left alone.
type FreeWave struct {
	pipe       *wavePipe
	line       WaveLine
	rho        float64
	compliance float64
	into       float64 // net flow into the compliance
	Step       quantity.Duration
}

// NewFreeWave cuts the line into reaches; pressure and flow are functions of
// the share of its length.
func NewFreeWave(l WaveLine, rho quantity.Density, reaches int, compliance float64, pressure func(float64) quantity.Difference, flow func(float64) quantity.Flow) *FreeWave {
	f := &FreeWave{pipe: newWavePipe(l, float64(rho), reaches), line: l, rho: float64(rho), compliance: compliance}
	f.Step = quantity.Duration(float64(l.Length) / float64(reaches) / float64(l.Wave))
	for i := range f.pipe.p {
		x := float64(i) / float64(reaches)
		f.pipe.p[i], f.pipe.in[i] = float64(pressure(x)), float64(flow(x))
		f.pipe.out[i] = f.pipe.in[i]
	}
	if compliance > 0 {
		f.into = f.pipe.in[reaches]
	}
	return f
}

// Next moves on by a step and gives the pressure at the far side.
func (f *FreeWave) Next() quantity.Difference {
	w, n := f.pipe, f.pipe.reaches()
	w.inside()
	w.supplied(0, 0)
	if f.compliance > 0 {
		c, b := w.forward(n - 1)
		cap := 2 * f.compliance / float64(f.Step)
		p := (c/b + cap*w.p[n] + f.into) / (1/b + cap)
		w.np[n], w.nin[n] = p, (c-p)/b
		f.into = w.nin[n]
	} else {
		w.closed()
	}
	w.swap()
	return quantity.Difference(w.p[n])
}

// Energy in the line, J: of pressure and of motion, by the trapezium rule.
func (f *FreeWave) Energy() float64 {
	w, n, a := f.pipe, f.pipe.reaches(), area(f.line.Bore)
	sum := 0.0
	for i, p := range w.p {
		e := p*p*a/(f.rho*float64(f.line.Wave)*float64(f.line.Wave)) + w.in[i]*w.in[i]*f.rho/a
		if i == 0 || i == n {
			e /= 2
		}
		sum += e
	}
	return sum * float64(f.line.Length) / float64(n) / 2
}

// ValveClosure is a textbook case: a reservoir, one line and a valve at its end
// with an area Cd A over time, heads in metres.
type ValveClosure struct {
	Line      WaveLine
	Reservoir quantity.Length
	Gravity   float64 // m/s2
	Reaches   int
	CdA       func(quantity.Duration) quantity.Area
}

// At is head and flow at the valve, and flow at the reservoir, at a time, from
// the steady start on. Friction is explicit, as Streeter & Wylie print the scheme.
func (v ValveClosure) At(t quantity.Duration) (head quantity.Length, valve, reservoir quantity.Flow) {
	w := newWavePipe(v.Line, 1/v.Gravity, v.Reaches)
	w.explicit = true
	h0 := float64(v.Reservoir)
	open := float64(v.CdA(0))
	h := h0 / (1 + float64(v.Reaches)*w.r*2*v.Gravity*open*open)
	q := open * math.Sqrt(2*v.Gravity*h)
	for i := range w.p {
		w.p[i], w.in[i], w.out[i] = h0-float64(i)*w.r*q*q, q, q
	}
	step := float64(v.Line.Length) / float64(v.Reaches) / float64(v.Line.Wave)
	n := v.Reaches
	for i := 1; i <= int(math.Round(float64(t)/step)); i++ {
		w.inside()
		w.supplied(h0, 0)
		c, b := w.forward(n - 1)
		k := float64(v.CdA(quantity.Duration(float64(i)*step))) * math.Sqrt(2*v.Gravity)
		w.np[n], w.nin[n] = tap(1/b, c/b, k)
		w.swap()
	}
	return quantity.Length(w.p[n]), quantity.Flow(w.in[n]), quantity.Flow(w.in[0])
}
