package fuel

import (
	"fmt"

	"feedproof/schema/quantity"
)

// What is assumed of a rail and its feed: engineering estimates, from memory.
// The wave speed of rubber and PTFE hose is no published constant, so three are
// asked and the range is shown.
const (
	railWave      quantity.Speed    = 1100 // steel or aluminium rail: 1000 to 1300 m/s
	waveFriction                    = 0.03
	waveSource                      = 4e8 // Pa s/m3
	waveRepeats                     = 1e-6
	waveRamp      quantity.Duration = 0.3e-3
	SampleDamper                    = 5 * MM3PerKPa // a damper of a size that is sold, for comparison
	SpreadLimit   quantity.Fraction = 0.02          // shop policy: beyond it cylinders differ by more than waves make
	leastFeedHose quantity.Length   = 0.2
)

// feedWaves are the wave speeds of a feed hose: soft, middle, stiff.
var feedWaves = [3]quantity.Speed{200, 400, 700}

// firingOrders are the usual ones of engines in line and of two banks, by the
// number of cylinders on one rail; others fire in turn.
var firingOrders = map[int][]int{4: {1, 3, 4, 2}, 5: {1, 2, 4, 5, 3}, 6: {1, 5, 3, 6, 2, 4}, 8: {1, 8, 4, 3, 6, 5, 7, 2}}

// WaveRange is a value at the soft, the middle and the stiff hose.
type WaveRange[Q quantity.Quantity] struct{ Low, Middle, High Q }

// RailPulsation is what waves make of the planned rail at full power and highest
// speed, at three wave speeds of its feed hose, bare and with a damper.
type RailPulsation struct {
	Spread, Damped WaveRange[quantity.Fraction]   // cylinder to cylinder
	Swing          WaveRange[quantity.Difference] // peak to peak at an injector
	Lost           quantity.Fraction              // of an injector's volume, the middle hose
	Speed          quantity.EngineSpeed
	Injectors      int // on one rail
	Assumed        []string
}

// OK reports that the spread keeps within [SpreadLimit] at all three speeds.
func (p RailPulsation) OK() bool {
	return max(p.Spread.Low, p.Spread.Middle, p.Spread.High) <= SpreadLimit
}

// Pulsate follows the waves in the planned rail.
//
// Errors: no injectors or no rail; a pulse that does not fit the cycle; a rail
// that no grid fits; fuel that boils at the lowest pressure.
func Pulsate(s System, r Result) (RailPulsation, error) {
	w, err := s.railWaves(r)
	if err != nil {
		return RailPulsation{}, err
	}
	p := RailPulsation{Speed: w.Speed, Injectors: len(w.At), Assumed: s.waveNotes()}
	vapour := -quantity.Difference(s.Engine.ManifoldMax)
	for i, wave := range feedWaves {
		w.Feed.Wave, w.Damper = wave, 0
		bare, err := w.settled(vapour)
		if err != nil {
			return RailPulsation{}, err
		}
		w.Damper = SampleDamper
		damped, err := w.settled(vapour)
		if err != nil {
			return RailPulsation{}, err
		}
		p.Spread.set(i, bare.Spread)
		p.Swing.set(i, bare.Swing())
		p.Damped.set(i, damped.Spread)
		if i == 1 {
			p.Lost = 1 - quantity.Fraction(mean(bare.Volumes)/float64(bare.Ideal))
		}
	}
	return p, nil
}

func (w *WaveRange[Q]) set(i int, v Q) { *[]*Q{&w.Low, &w.Middle, &w.High}[i] = v }

// Ends are the least and the most of the three.
func (w WaveRange[Q]) Ends() (least, most Q) {
	return min(w.Low, w.Middle, w.High), max(w.Low, w.Middle, w.High)
}

func mean(v []quantity.Volume) float64 {
	sum := 0.0
	for _, x := range v {
		sum += float64(x)
	}
	return sum / float64(len(v))
}

func (r RailWaves) settled(vapour quantity.Difference) (Pulsation, error) {
	steps, err := r.Steps(leastSteps)
	if err != nil {
		return Pulsation{}, err
	}
	return r.Run(steps, vapour)
}

// railWaves is one rail of the plan at full power; injectors evenly along it.
func (s System) railWaves(r Result) (RailWaves, error) {
	if s.Injectors == nil || r.Injection == nil {
		return RailWaves{}, fmt.Errorf("rail: the engine has no injectors")
	}
	if s.Rails == nil || s.Rails.Length == 0 {
		return RailWaves{}, fmt.Errorf("rail: bore and length are not known")
	}
	n := s.Injectors.Count / s.Rails.Count
	if n < 1 {
		return RailWaves{}, fmt.Errorf("rail: %d injectors on %d rails", s.Injectors.Count, s.Rails.Count)
	}
	events := max(1, s.Injectors.EventsPerCycle)
	cycle := CycleTime(s.Engine.SpeedMax)
	w := RailWaves{
		Density: r.Blend.Density, Speed: s.Engine.SpeedMax,
		Rail:   WaveLine{Length: s.Rails.Length, Bore: s.Rails.Bore, Wave: railWave, Friction: waveFriction},
		Feed:   WaveLine{Length: max(s.Feed.Length, leastFeedHose), Bore: s.Feed.Bore, Friction: waveFriction},
		Static: quantity.Flow(float64(r.Injection.Static) / float64(r.Blend.Density)), Rated: r.Pressures.Across,
		Supply: r.Pressures.Across, Source: waveSource, Ramp: waveRamp, Repeats: waveRepeats,
		Width: cycle * quantity.Duration(r.Injection.Effective) / quantity.Duration(events),
	}
	for i := range n {
		w.At = append(w.At, s.Rails.Length*quantity.Length(2*i+1)/quantity.Length(2*n))
		w.Order = append(w.Order, i+1)
	}
	if order, usual := firingOrders[n]; usual {
		w.Order = order
	}
	return w, nil
}

func (s System) waveNotes() []string {
	notes := []string{
		fmt.Sprintf("waves: feed hose at %s, %s and %s, for its wave speed is not known; rail at %s, closed at its end, its supply steady; injectors evenly along it",
			quantity.Format(feedWaves[0], "m/s", 0), quantity.Format(feedWaves[1], "m/s", 0), quantity.Format(feedWaves[2], "m/s", 0), quantity.Format(railWave, "m/s", 0)),
		"waves: they rank layouts and show what a damper is worth; they do not predict the ripple of a log within 30 %",
	}
	if s.Rails.Count > 1 {
		notes = append(notes, fmt.Sprintf("waves: one of %d rails, alone", s.Rails.Count))
	}
	return notes
}
