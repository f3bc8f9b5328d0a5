package rules

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"feedproof/schema"
)

// The bands of base pressure: tolerance 0.07, a third 0.02333, a half 0.035.
var band = scale{{0.07, schema.Flag}, {0.14, schema.Hold}, {0.30, schema.Block}}

// TestDecideByGuardBand: pass only when value and uncertainty fit, fail only
// when they cannot. Source: JCGM 106:2012 and ILAC-G8:09/2019, from memory.
func TestDecideByGuardBand(t *testing.T) {
	for _, c := range []struct {
		x, u float64
		want schema.Severity
	}{
		{0, 0, schema.OK},
		{0.07, 0, schema.OK},
		{0.05, 0.02, schema.OK},
		{0.0501, 0.02, schema.Flag}, // the worse end is beyond OK
		{0.01, 0.07 / 3, schema.OK}, // U exactly a third
		{0.01, 0.0234, schema.Flag}, // U more than a third
		{0.01, 0.035, schema.Flag},  // U exactly a half
		{0.01, 0.0351, schema.Unproven},
		{0.02, 0.16, schema.Unproven}, // a class 1.6 gauge of 10 bar
		{0.13, 0.01, schema.Flag},
		{0.135, 0.01, schema.Unproven}, // could be FLAG, could be HOLD
		{0.149, 0.01, schema.Unproven},
		{0.151, 0.01, schema.Hold}, // even the better end is beyond
		{0.305, 0.01, schema.Hold},
		{0.311, 0.01, schema.Block},
		{0.02, 0.01, schema.OK},
		{math.NaN(), 0, schema.Unproven},
		{0, math.NaN(), schema.Unproven},
	} {
		if got := band.decide(c.x, c.u); got != c.want {
			t.Errorf("%g +- %g is %s, want %s", c.x, c.u, got, c.want)
		}
	}
}

func TestDecideAgainstAFloor(t *testing.T) {
	volts := floorScale{{13, schema.Flag}, {12.5, schema.Hold}}
	for _, c := range []struct {
		x, u float64
		want schema.Severity
	}{
		{13, 0, schema.OK}, {13.02, 0.02, schema.OK}, {13.01, 0.02, schema.Flag}, {12.99, 0.02, schema.Flag},
		{12.52, 0.02, schema.Flag}, {12.51, 0.02, schema.Unproven}, {12.49, 0.02, schema.Unproven}, {12.47, 0.02, schema.Hold},
		{math.NaN(), 0, schema.Unproven}, {14, math.NaN(), schema.Unproven},
	} {
		if got := volts.decide(c.x, c.u); got != c.want {
			t.Errorf("%g +- %g is %s, want %s", c.x, c.u, got, c.want)
		}
	}
	room := floorScale{{0.5, schema.Flag}, {0.2, schema.Hold}, {0, schema.Block}}
	for _, c := range []struct {
		x, u float64
		want schema.Severity
	}{
		{0.005, 0.01, schema.Hold}, // HOLD is sure, BLOCK is not
		{-0.005, 0.01, schema.Hold}, {-0.011, 0.01, schema.Block}, {0.195, 0.01, schema.Unproven},
	} {
		if got := room.decide(c.x, c.u); got != c.want {
			t.Errorf("room of %g +- %g is %s, want %s", c.x, c.u, got, c.want)
		}
	}
}

// TestDecideLaws: a worse value never improves the verdict, a larger
// uncertainty never makes an unproven value proven, and a value on a limit is
// inside it whatever the unit's factor did to its last bits.
func TestDecideLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x := rapid.Float64Range(0, 0.5).Draw(t, "x")
		more := rapid.Float64Range(0, 0.5).Draw(t, "more")
		u := rapid.Float64Range(0, 0.2).Draw(t, "u")
		wider := rapid.Float64Range(0, 0.2).Draw(t, "wider")
		if a, b := band.decide(x, u), band.decide(x+more, u); b < a {
			t.Errorf("%g is %s and %g is %s", x, a, x+more, b)
		}
		if a, b := band.decide(x, u), band.decide(x, u+wider); a >= schema.Unproven && b < schema.Unproven || b < min(a, schema.Unproven) {
			t.Errorf("%g +- %g is %s, and +- %g is %s", x, u, a, u+wider, b)
		}
		volts := floorScale{{0.3, schema.Flag}, {0.2, schema.Hold}}
		if a, b := volts.decide(x+more, u), volts.decide(x, u); b < a {
			t.Errorf("%g is %s and %g is %s", x+more, a, x, b)
		}
		limit := rapid.Float64Range(0.001, 1e7).Draw(t, "limit")
		if exceeds(math.Nextafter(limit, math.Inf(1)), limit) || !exceeds(limit*(1+1e-8), limit) {
			t.Errorf("%g: the last bit decides, or a step does not", limit)
		}
	})
}
