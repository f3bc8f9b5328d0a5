package fuel

import (
	"fmt"
	"math"

	"feedproof/schema/quantity"
)

func area(bore quantity.Length) float64 { return math.Pi / 4 * float64(bore) * float64(bore) }

// WaveLine is a line as waves see it.
type WaveLine struct {
	Length   quantity.Length
	Bore     quantity.Length
	Wave     quantity.Speed
	Friction float64 // Darcy's factor, of the mean flow
	Linear   float64 // resistance proportional to flow, Pa s/m4
}

func (l WaveLine) validate(name string) error {
	err := first(positive(name+" length", l.Length), within(name+" bore", l.Bore, 1e-3, 3), within(name+" wave speed", l.Wave, 50, 2000))
	if err == nil && !(l.Friction >= 0 && l.Friction <= 0.2 && l.Linear >= 0) {
		return fmt.Errorf("%s: friction factor %g is outside 0 to 0.2, or a resistance of %g is below zero", name, l.Friction, l.Linear)
	}
	return err
}

// wavePipe is a line cut into reaches that a wave crosses in one step, by the
// method of characteristics in pressure and volume flow:
// C+ p = p_A + Z Q_A - B Q, C- p = p_B - Z Q_B + B Q, B = Z + R|Q_old|.
// With friction in the impedance it is of second order and never unstable.
// Source: Wylie & Streeter, Fluid Transients.
type wavePipe struct {
	z, r, half float64 // impedance; quadratic and half the linear resistance of a reach
	explicit   bool    // friction with the old flow alone, of first order, as textbooks print it
	p, in, out []float64
	np, nin    []float64
}

// newWavePipe cuts a line into n reaches; density 1/g makes heads of pressures.
func newWavePipe(l WaveLine, rho float64, n int) *wavePipe {
	a := area(l.Bore)
	dx := float64(l.Length) / float64(n)
	w := &wavePipe{z: rho * float64(l.Wave) / a, r: l.Friction * rho * dx / (2 * float64(l.Bore) * a * a), half: l.Linear * dx / 2}
	w.p, w.in, w.np, w.nin = make([]float64, n+1), make([]float64, n+1), make([]float64, n+1), make([]float64, n+1)
	w.out = make([]float64, n+1)
	return w
}

func (w *wavePipe) reaches() int { return len(w.p) - 1 }

// rest sets a pressure everywhere, and no flow.
func (w *wavePipe) rest(p float64) {
	for i := range w.p {
		w.p[i], w.in[i], w.out[i] = p, 0, 0
	}
}

// forward is what comes along from node i: C+ and its impedance.
func (w *wavePipe) forward(i int) (c, b float64) {
	q := w.out[i]
	r := w.r * math.Abs(q)
	if w.explicit {
		return w.p[i] + (w.z-r)*q, w.z
	}
	return w.p[i] + (w.z-w.half)*q, w.z + w.half + r
}

// backward is what comes back from node i: C- and its impedance.
func (w *wavePipe) backward(i int) (c, b float64) {
	q := w.in[i]
	r := w.r * math.Abs(q)
	if w.explicit {
		return w.p[i] - (w.z-r)*q, w.z
	}
	return w.p[i] - (w.z-w.half)*q, w.z + w.half + r
}

// inside computes the new pressures and flows between the ends; [wavePipe.swap]
// makes them the present ones, after the ends and the taps are set.
func (w *wavePipe) inside() {
	n := w.reaches()
	if w.explicit {
		w.insidePlain(n)
		return
	}
	p, in, out, np, nin := w.p[:n+1], w.in[:n+1], w.out[:n+1], w.np[:n+1], w.nin[:n+1]
	toFriction, b0 := w.z-w.half, w.z+w.half
	for i := 1; i < n; i++ {
		qa, qb := out[i-1], in[i+1]
		ba, bb := b0+w.r*math.Abs(qa), b0+w.r*math.Abs(qb)
		ca, cb := p[i-1]+toFriction*qa, p[i+1]-toFriction*qb
		np[i] = (ca*bb + cb*ba) / (ba + bb)
		nin[i] = (ca - cb) / (ba + bb)
	}
}

func (w *wavePipe) insidePlain(n int) {
	for i := 1; i < n; i++ {
		ca, ba := w.forward(i - 1)
		cb, bb := w.backward(i + 1)
		w.np[i] = (ca*bb + cb*ba) / (ba + bb)
		w.nin[i] = (ca - cb) / (ba + bb)
	}
}

// swap makes the new values present; nothing is tapped.
func (w *wavePipe) swap() {
	w.p, w.np, w.in, w.nin = w.np, w.p, w.nin, w.in
	copy(w.out, w.in)
}

// closed is a dead end at the far side.
func (w *wavePipe) closed() {
	n := w.reaches()
	c, _ := w.forward(n - 1)
	w.np[n], w.nin[n] = c, 0
}

// supplied is a source of pressure behind a resistance, Pa s/m3, at the near side.
func (w *wavePipe) supplied(p, resistance float64) {
	c, b := w.backward(1)
	q := (p - c) / (resistance + b)
	w.np[0], w.nin[0] = p-resistance*q, q
}

// tap is an orifice of flow k sqrt(p) where waves meet: conductance g and
// their sum e. Closed form of p g + k sqrt p = e.
func tap(g, e, k float64) (p, q float64) {
	if e <= 0 || k == 0 {
		return e / g, 0
	}
	s := 2 * e / (k + math.Sqrt(k*k+4*g*e))
	return s * s, k * s
}
