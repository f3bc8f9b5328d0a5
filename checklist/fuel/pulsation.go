package fuel

import (
	"fmt"
	"math"

	"feedproof/schema/quantity"
)

// Compliance of a damper, m3/Pa; 1 mm3/kPa is 1e-12.
type Compliance float64

// MM3PerKPa is the unit in which dampers are compared.
const MM3PerKPa Compliance = 1e-12

// RailWaves is a feed line and a dead-ended rail with injectors, over a cycle of
// the engine. Pressures are over the manifold, which stays constant.
type RailWaves struct {
	Density    quantity.Density
	Speed      quantity.EngineSpeed
	Rail, Feed WaveLine
	At         []quantity.Length // injectors, from the rail's inlet
	Order      []int             // of firing, by the number of the injector from 1
	Static     quantity.Flow     // of one injector at Rated
	Rated      quantity.Difference
	Supply     quantity.Difference
	Source     float64 // resistance of the supply, Pa s/m3
	Damper     Compliance
	Width      quantity.Duration // pulse
	Ramp       quantity.Duration // opening and closing
	Repeats    float64           // share by which a volume may change from one cycle to the next at the end; zero: 1e-8
}

// Pulsation is what waves do over a cycle, once it repeats itself.
type Pulsation struct {
	Least, Most quantity.Difference // at any injector
	Mean        quantity.Difference // at the rail's inlet
	Volumes     []quantity.Volume   // of each injector
	Ideal       quantity.Volume     // at the supply's pressure, without waves
	Spread      quantity.Fraction   // greatest less least volume over their mean
	Cycles      int
	Steps       int
	Wave        []quantity.Difference // at the rail's inlet over the last cycle
}

// Swing is from the lowest to the highest pressure.
func (p Pulsation) Swing() quantity.Difference { return p.Most - p.Least }

// Grid of the scheme, and when a cycle repeats the one before.
const (
	mostCycles    = 300
	cycleRepeats  = 1e-8
	massTolerance = 1e-4
	leastSteps    = 400
	mostSteps     = 60_000
	speedMoved    = 0.02 // most a wave speed may be moved to fit the grid
)

func (r RailWaves) validate() error {
	err := first(r.Rail.validate("rail"), r.Feed.validate("feed line"), within("engine speed", r.Speed, 100*quantity.RPM, 20000*quantity.RPM),
		within("fuel density", r.Density, 500, 1100), positive("injector flow", r.Static), positive("rated pressure", r.Rated), positive("supply pressure", r.Supply),
		positive("pulse width", r.Width), positive("opening time", r.Ramp))
	switch cycle := CycleTime(r.Speed); {
	case err != nil:
		return err
	case r.Width+r.Ramp > cycle:
		return fmt.Errorf("pulse width: %s and %s to open do not fit the cycle of %s", quantity.Text(r.Width), quantity.Text(r.Ramp), quantity.Text(cycle))
	case len(r.At) == 0 || len(r.Order) != len(r.At):
		return fmt.Errorf("injectors: %d places and %d in the firing order", len(r.At), len(r.Order))
	case !(r.Source >= 0 && r.Damper >= 0):
		return fmt.Errorf("rail: a source resistance of %g or a damper of %g is below zero", r.Source, r.Damper)
	}
	return r.places()
}

func (r RailWaves) places() error {
	fires := map[int]bool{}
	for i, x := range r.At {
		if err := within(fmt.Sprintf("injector %d from the rail's inlet", i+1), x, 0, r.Rail.Length); err != nil {
			return err
		}
		fires[r.Order[i]] = true
	}
	for i := range r.At {
		if !fires[i+1] {
			return fmt.Errorf("firing order %v: injector %d does not fire", r.Order, i+1)
		}
	}
	return nil
}

// Steps finds a number of steps a cycle at which injectors lie on nodes of the
// rail and no wave speed moves by more than 2 %, at least as many as asked.
func (r RailWaves) Steps(least int) (int, error) {
	if err := r.validate(); err != nil {
		return 0, err
	}
	cycle := float64(CycleTime(r.Speed))
	for reaches := 2; reaches < 4000; reaches++ {
		dx := float64(r.Rail.Length) / float64(reaches)
		n := int(math.Round(cycle * float64(r.Rail.Wave) / dx))
		switch {
		case n < max(least, leastSteps) || !r.onNodes(dx):
			continue
		case n > mostSteps:
			return 0, fmt.Errorf("rail: no grid of up to %d steps a cycle has the injectors on its nodes; place them evenly", mostSteps)
		case r.moved(n) <= speedMoved:
			return n, nil
		}
	}
	return 0, fmt.Errorf("rail: no grid fits it; a length or wave speed is far from what rails and lines have")
}

func (r RailWaves) onNodes(dx float64) bool {
	for _, x := range r.At {
		if n := math.Round(float64(x) / dx); math.Abs(n*dx-float64(x)) > 0.01*dx || n < 1 || n >= math.Round(float64(r.Rail.Length)/dx) {
			return false
		}
	}
	return true
}

// moved is the greatest share by which a wave speed must move to fit n steps.
func (r RailWaves) moved(n int) float64 {
	dt, most := float64(CycleTime(r.Speed))/float64(n), 0.0
	for _, l := range []WaveLine{r.Rail, r.Feed} {
		reaches := math.Round(float64(l.Length) / (float64(l.Wave) * dt))
		if reaches < 1 {
			return 1
		}
		most = max(most, math.Abs(float64(l.Length)/(reaches*dt*float64(l.Wave))-1))
	}
	return most
}

// fit is the line cut into reaches that its waves cross in dt.
func (r RailWaves) fit(l WaveLine, dt float64) *wavePipe {
	reaches := max(2, int(math.Round(float64(l.Length)/(float64(l.Wave)*dt))))
	l.Wave = quantity.Speed(float64(l.Length) / float64(reaches) / dt)
	w := newWavePipe(l, float64(r.Density), reaches)
	w.rest(float64(r.Supply))
	return w
}

// Run follows cycles of so many steps until they repeat themselves: waves by the
// method of characteristics, injectors as orifices with ramped edges, the damper
// by the trapezium rule. One-dimensional, rigid timing, an ideal damper, no gas:
// it ranks layouts and shows what a damper is worth; it does not predict the
// ripple of a log within 30 %. Source: Wylie & Streeter, Fluid Transients.
//
// Errors: what the rail lacks; a pressure that falls to where the fuel column
// parts, with vapour pressure over the manifold as the limit.
func (r RailWaves) Run(steps int, vapour quantity.Difference) (Pulsation, error) {
	if err := r.validate(); err != nil {
		return Pulsation{}, err
	}
	w := newWaves(r, steps)
	var before []float64
	for cycle := 1; ; cycle++ {
		if err := w.cycle(float64(vapour)); err != nil {
			return Pulsation{}, err
		}
		if repeats(before, w.volumes, r.repeats()) && w.lost() < massTolerance || cycle == mostCycles {
			return w.result(cycle)
		}
		before = append(before[:0], w.volumes...)
	}
}

func (r RailWaves) repeats() float64 {
	if r.Repeats > 0 {
		return r.Repeats
	}
	return cycleRepeats
}

func repeats(before, now []float64, within float64) bool {
	for i := range before {
		if math.Abs(now[i]/before[i]-1) >= within {
			return false
		}
	}
	return len(before) > 0
}

// waves is a rail being followed.
type waves struct {
	r          RailWaves
	rail, feed *wavePipe
	dt, cap, k float64
	nodes      []int
	open       [][]float64 // by step and injector
	joint      float64     // pressure
	net        float64     // flow into the damper
	volumes    []float64
	least      float64
	most       float64
	mean       float64
	came       float64
	wave       []quantity.Difference
}

func newWaves(r RailWaves, steps int) *waves {
	dt := float64(CycleTime(r.Speed)) / float64(steps)
	w := &waves{r: r, dt: dt, rail: r.fit(r.Rail, dt), feed: r.fit(r.Feed, dt), joint: float64(r.Supply), volumes: make([]float64, len(r.At))}
	w.cap, w.k = 2*float64(r.Damper)/dt, float64(r.Static)/math.Sqrt(float64(r.Rated))
	for _, x := range r.At {
		n := int(math.Round(float64(x) / float64(r.Rail.Length) * float64(w.rail.reaches())))
		w.nodes = append(w.nodes, min(max(n, 1), w.rail.reaches()-1))
	}
	w.open = make([][]float64, steps)
	for i := range w.open {
		w.open[i] = make([]float64, len(r.At))
		for j := range r.At {
			w.open[i][j] = r.opening(float64(i)*dt, j)
		}
	}
	w.wave = make([]quantity.Difference, steps)
	return w
}

// opening of injector j at a time of the cycle, from 0 to 1; its integral is
// the pulse width exactly.
func (r RailWaves) opening(t float64, j int) float64 {
	cycle := float64(CycleTime(r.Speed))
	start := 0.0
	for k, fires := range r.Order {
		if fires == j+1 {
			start = float64(k) * cycle / float64(len(r.At))
		}
	}
	since := math.Mod(t-start+cycle, cycle)
	ramp := func(d float64) float64 { return min(1, max(0, d/float64(r.Ramp))) }
	u := 0.0
	for _, d := range []float64{since, since + cycle} {
		u += ramp(d) - ramp(d-float64(r.Width))
	}
	return u
}

func (w *waves) cycle(vapour float64) error {
	clear(w.volumes)
	w.least, w.most, w.mean, w.came = math.Inf(1), math.Inf(-1), 0, 0
	steps := len(w.open)
	for i := 1; i <= steps; i++ {
		w.step(w.open[i%steps])
		w.wave[i%steps] = quantity.Difference(w.joint)
		w.mean += w.joint * w.dt
		w.came += w.feed.in[0] * w.dt
	}
	if !(w.least > vapour) {
		return fmt.Errorf("rail: pressure over the manifold falls to %s at an injector, where the fuel parts: vapour in the rail at low pressure; the waves cannot be followed", quantity.Text(quantity.Difference(w.least)))
	}
	return nil
}

func (w *waves) step(open []float64) {
	f, r := w.feed, w.rail
	f.inside()
	r.inside()
	f.supplied(float64(w.r.Supply), w.r.Source)
	r.closed()
	n := f.reaches()
	cf, bf := f.forward(n - 1)
	cr, br := r.backward(1)
	p := (cf/bf + cr/br + w.cap*w.joint + w.damped()) / (1/bf + 1/br + w.cap)
	f.np[n], f.nin[n] = p, (cf-p)/bf
	r.np[0], r.nin[0] = p, (p-cr)/br
	w.joint, w.net = p, f.nin[n]-r.nin[0]
	w.inject(open)
}

// lost is the share of fuel that came in over a cycle and was not injected.
func (w *waves) lost() float64 {
	sum := 0.0
	for _, v := range w.volumes {
		sum += v
	}
	return math.Abs(w.came/sum - 1)
}

func (w *waves) damped() float64 {
	if w.cap == 0 {
		return 0
	}
	return w.net
}

// inject sets the nodes of the injectors and moves both lines on.
func (w *waves) inject(open []float64) {
	r := w.rail
	var taken [64]float64
	for j, m := range w.nodes {
		ca, ba := r.forward(m - 1)
		cb, bb := r.backward(m + 1)
		p, q := tap(1/ba+1/bb, ca/ba+cb/bb, w.k*open[j])
		r.np[m], r.nin[m], taken[j] = p, (ca-p)/ba, q
		w.volumes[j] += q * w.dt
		w.least, w.most = min(w.least, p), max(w.most, p)
	}
	w.feed.swap()
	r.swap()
	for j, m := range w.nodes {
		r.out[m] -= taken[j]
	}
}

func (w *waves) result(cycles int) (Pulsation, error) {
	var sum float64
	least, most := math.Inf(1), math.Inf(-1)
	p := Pulsation{Least: quantity.Difference(w.least), Most: quantity.Difference(w.most), Cycles: cycles, Steps: len(w.open), Wave: w.wave}
	for _, v := range w.volumes {
		sum, least, most = sum+v, min(least, v), max(most, v)
		p.Volumes = append(p.Volumes, quantity.Volume(v))
	}
	if lost := w.lost(); !(lost < massTolerance) {
		return Pulsation{}, fmt.Errorf("rail: over a cycle %.4g of the fuel is lost between supply and injectors after %d cycles; its waves do not settle", lost, cycles)
	}
	p.Mean = quantity.Difference(w.mean / float64(CycleTime(w.r.Speed)))
	p.Spread = quantity.Fraction((most - least) / (sum / float64(len(w.volumes))))
	p.Ideal = quantity.Volume(w.k * math.Sqrt(float64(w.r.Supply)) * float64(w.r.Width))
	return p, nil
}
