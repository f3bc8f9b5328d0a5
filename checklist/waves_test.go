package checklist_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"feedproof/checklist/datalog"
	"feedproof/checklist/fuel"
	"feedproof/schema/quantity"
)

// fourInjectors is the invented rail of the published run 1.
func fourInjectors() fuel.RailWaves {
	return fuel.RailWaves{
		Density: 745, Speed: 7200 * quantity.RPM, Rail: fuel.WaveLine{Length: 0.36, Bore: 14 * quantity.MM, Wave: 1080, Friction: 0.03}, Feed: fuel.WaveLine{Length: 1.5, Bore: 8.7 * quantity.MM, Wave: 600, Friction: 0.03},
		At: []quantity.Length{0.045, 0.135, 0.225, 0.315}, Order: []int{1, 3, 4, 2}, Static: 1000 * quantity.CCPerMin, Rated: 3 * quantity.Bar, Supply: 3 * quantity.Bar, Source: 4e8, Width: 10 * quantity.MS, Ramp: 0.3 * quantity.MS,
	}
}

// logOf samples the rail's inlet so many times a second, at constant speed and
// manifold pressure.
func logOf(p fuel.Pulsation, cycle float64, rate, seconds float64) string {
	var b strings.Builder
	b.WriteString("Time (s),RPM (rpm),MAP (kPa abs),Rail (bar gauge),Throttle (%)\n")
	for i := range int(rate * seconds) {
		t := float64(i) / rate
		at := math.Mod(t, cycle) / cycle * float64(len(p.Wave))
		k, part := int(at)%len(p.Wave), at-math.Floor(at)
		rail := float64(p.Wave[k])*(1-part) + float64(p.Wave[(k+1)%len(p.Wave)])*part
		fmt.Fprintf(&b, "%.6f,7200,200.0,%.5f,100\n", t, (rail+200e3-101325)/1e5)
	}
	return b.String()
}

func analysed(t *testing.T, text string) datalog.Result {
	t.Helper()
	p, err := datalog.Propose(strings.NewReader(text))
	if err != nil {
		t.Fatal(err)
	}
	r, err := datalog.Analyse(strings.NewReader(text), p.Mapping, datalog.Conditions{Cylinders: 4, Barometer: 101325})
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// The waves of the scheme and the spectrum of a log are two ways to the same
// line: cylinders times half the speed. A fast log shows it where it is, with no
// more swing than the scheme's; a slow one folds it to where sampling says.
func TestWavesAndTheSpectrumOfALogAgree(t *testing.T) {
	r := fourInjectors()
	p, err := r.Run(400, -2e5)
	if err != nil {
		t.Fatal(err)
	}
	cycle := 120.0 / 7200
	low, high := math.Inf(1), math.Inf(-1)
	for _, v := range p.Wave {
		low, high = math.Min(low, float64(v)), math.Max(high, float64(v))
	}
	for _, c := range []struct{ rate, shows float64 }{{2000, 240}, {1300, 240}, {100, 40}, {54, 24}} {
		got := analysed(t, logOf(p, cycle, c.rate, 8)).Wave
		if !got.Known {
			t.Errorf("%g a second: no wave seen", c.rate)
			continue
		}
		resolution := c.rate / 128
		if math.Abs(float64(got.Frequency)-c.shows) > resolution {
			t.Errorf("%g a second: %.1f Hz, want %g within %.1f", c.rate, float64(got.Frequency), c.shows, resolution)
		}
		if swing := float64(got.Swing); swing > (high-low)*1.05 || swing < (high-low)*0.3 {
			t.Errorf("%g a second: a swing of %.0f Pa, the scheme has %.0f", c.rate, swing, high-low)
		}
		if !got.MayBeAlias && c.rate < 480 {
			t.Errorf("%g a second: the alias is not warned of", c.rate)
		}
	}
}
