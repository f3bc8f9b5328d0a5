package fuel

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	q "feedproof/schema/quantity"
)

// The errors of the scheme fall with the square of the reach, against the exact
// answers of the telegraph equation and of a pipe with a compliance at its end.
func TestWavesConvergeAtSecondOrder(t *testing.T) {
	line, rho := WaveLine{Length: 1.2, Bore: 10 * q.MM, Wave: 1080}, q.Density(745)
	damped := line
	damped.Linear = 2e9
	after := 4 / QuarterWave(line.Wave, line.Length) // four periods
	exact := 1e5 * Ringing(rho, line.Wave, line.Length, line.Bore, damped.Linear, q.Duration(after))
	order(t, "friction", func(reaches int) float64 {
		w := sine(damped, rho, reaches, 1e5)
		var p q.Difference
		for range 16 * reaches {
			p = w.Next()
		}
		return float64(p)/exact - 1
	})
	for _, compliance := range []float64{5e-12, 2e-13} {
		f := EndFrequency(rho, line.Wave, line.Length, line.Bore, compliance)
		shape := 2 * math.Pi * f * float64(line.Length) / float64(line.Wave)
		order(t, "damper", func(reaches int) float64 {
			w := NewFreeWave(line, rho, reaches, compliance, func(x float64) q.Difference { return q.Difference(1e5 * math.Sin(shape*x)) }, func(float64) q.Flow { return 0 })
			return frequency(w, int(6.2/f/float64(w.Step)))/f - 1
		})
	}
}

// order wants errors that fall fourfold when the reaches double.
func order(t *testing.T, what string, wrong func(reaches int) float64) {
	t.Helper()
	last := 0.0
	for _, reaches := range []int{10, 20, 40, 80} {
		now := math.Abs(wrong(reaches))
		if last != 0 {
			if p := math.Log2(last / now); math.Abs(p-2) > 0.1 {
				t.Errorf("%s: order %.2f at %d reaches (error %.2g, before %.2g), want 2", what, p, reaches, now, last)
			}
		}
		last = now
	}
	if last > 1e-5 {
		t.Errorf("%s: error %.2g at 80 reaches", what, last)
	}
}

// frequency of a wave from the times it falls through zero, between samples by
// the cubic through the four around.
func frequency(w *FreeWave, steps int) float64 {
	values := make([]float64, 0, steps)
	for range steps {
		values = append(values, float64(w.Next()))
	}
	var falls []float64
	for i := 2; i < len(values)-1; i++ {
		if values[i-1] > 0 && values[i] <= 0 {
			falls = append(falls, float64(i-1)+zeroOfCubic(values[i-2], values[i-1], values[i], values[i+1]))
		}
	}
	return float64(len(falls)-1) / ((falls[len(falls)-1] - falls[0]) * float64(w.Step))
}

func zeroOfCubic(a, b, c, d float64) float64 {
	low, high := 0.0, 1.0
	for range 60 {
		x := (low + high) / 2
		v := -a*x*(x-1)*(x-2)/6 + b*(x+1)*(x-1)*(x-2)/2 - c*(x+1)*x*(x-2)/2 + d*(x+1)*x*(x-1)/6
		if v > 0 {
			low = x
		} else {
			high = x
		}
	}
	return (low + high) / 2
}

// sixCylinders is an invented rail whose soft feed is near its resonance.
func sixCylinders() RailWaves {
	r := RailWaves{
		Density: 745, Speed: 3000 * q.RPM, Rail: WaveLine{Length: 0.60, Bore: 12 * q.MM, Wave: 1000, Friction: 0.03}, Feed: WaveLine{Length: 2.4, Bore: 8.7 * q.MM, Wave: 400, Friction: 0.03},
		Order: []int{1, 5, 3, 6, 2, 4}, Static: 750 * q.CCPerMin, Rated: 3 * q.Bar, Supply: 3 * q.Bar, Source: 4e8, Width: 6 * q.MS, Ramp: 0.3 * q.MS,
	}
	for i := range 6 {
		r.At = append(r.At, q.Length(0.05+0.1*float64(i)))
	}
	return r
}

func TestStepsPutInjectorsOnNodes(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := sixCylinders()
		n := rapid.IntRange(2, 8).Draw(t, "injectors")
		r.Speed = q.EngineSpeed(rapid.Float64Range(800, 8000).Draw(t, "rpm") * q.RPM)
		r.Width = q.Duration(0.3 * float64(CycleTime(r.Speed)))
		r.Rail.Length = q.Length(rapid.Float64Range(0.2, 0.9).Draw(t, "rail m"))
		r.Rail.Wave = q.Speed(rapid.Float64Range(700, 1300).Draw(t, "rail m/s"))
		r.Feed.Length, r.Feed.Wave = q.Length(rapid.Float64Range(0.8, 4).Draw(t, "feed m")), q.Speed(rapid.Float64Range(150, 1000).Draw(t, "feed m/s"))
		r.At, r.Order = nil, nil
		for i := range n {
			r.At, r.Order = append(r.At, r.Rail.Length*q.Length(2*i+1)/q.Length(2*n)), append(r.Order, i+1)
		}
		steps, err := r.Steps(leastSteps)
		if err != nil {
			t.Fatal(err)
		}
		if moved := r.moved(steps); moved > speedMoved {
			t.Fatalf("a wave speed is moved by %.3f", moved)
		}
		p, err := r.Run(steps, -1e9)
		if err != nil {
			t.Fatal(err)
		}
		if p.Least > p.Mean || p.Mean > p.Most || len(p.Volumes) != n {
			t.Fatalf("%+v", p)
		}
	})
}

func TestRailWavesRefuse(t *testing.T) {
	for name, c := range map[string]struct {
		change func(*RailWaves)
		want   string
	}{
		"no rail":        {func(r *RailWaves) { r.Rail.Length = 0 }, "rail length"},
		"pulse too long": {func(r *RailWaves) { r.Width = 1 }, "pulse width"},
		"off the rail":   {func(r *RailWaves) { r.At[2] = 0.7 }, "injector 3 from the rail's inlet"},
		"order":          {func(r *RailWaves) { r.Order[0] = 2 }, "injector 1 does not fire"},
		"wave speed":     {func(r *RailWaves) { r.Feed.Wave = 20 }, "feed line wave speed"},
	} {
		r := sixCylinders()
		c.change(&r)
		if _, err := r.Run(800, -1e5); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: %v, want %q", name, err, c.want)
		}
	}
	r := sixCylinders()
	if _, err := r.Run(800, 2.5*q.Bar); err == nil || !strings.Contains(err.Error(), "vapour in the rail") {
		t.Errorf("parted column: %v", err)
	}
}

// A damper at the inlet of a four-cylinder rail calms it; at the rail that is
// near its resonance the same damper moves the resonance, and does not.
func TestDamper(t *testing.T) {
	four := sixCylinders()
	four.Speed, four.Rail = 7200*q.RPM, WaveLine{Length: 0.36, Bore: 14 * q.MM, Wave: 1080, Friction: 0.03}
	four.Feed = WaveLine{Length: 1.5, Bore: 8.7 * q.MM, Wave: 600, Friction: 0.03}
	four.At, four.Order, four.Static, four.Width = []q.Length{0.045, 0.135, 0.225, 0.315}, []int{1, 3, 4, 2}, 1000*q.CCPerMin, 10*q.MS
	for name, c := range map[string]struct {
		rail  RailWaves
		calms bool
	}{"away from resonance": {four, true}, "near resonance": {sixCylinders(), false}} {
		bare, err := c.rail.Run(800, -1e5)
		if err != nil {
			t.Fatal(err)
		}
		c.rail.Damper = 5 * MM3PerKPa
		damped, err := c.rail.Run(800, -1e5)
		if err != nil {
			t.Fatal(err)
		}
		if calms := damped.Swing() < bare.Swing() && damped.Spread < bare.Spread; calms != c.calms {
			t.Errorf("%s: with a damper swing %v, spread %v; without %v, %v", name, damped.Swing(), damped.Spread, bare.Swing(), bare.Spread)
		}
	}
}

func BenchmarkPulsationSixCylinders(b *testing.B) {
	r := sixCylinders()
	for b.Loop() {
		if _, err := r.Run(800, -1e5); err != nil {
			b.Fatal(err)
		}
	}
}
