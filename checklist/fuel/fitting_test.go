package fuel

import (
	"math"
	"testing"

	q "feedproof/schema/quantity"
)

// Sizes above -16, and the SAE J517 hoses, from memory of their tables: 100R5 has
// the bores of MIL-H-8794, 100R1 and 100R2 the dash number in sixteenths.
func TestHoseBoresBeyondTheFirstTable(t *testing.T) {
	for _, c := range []struct {
		spec HoseSpecification
		dash int
		inch float64
	}{{SingleBraid, 20, 1.125}, {SingleBraid, 32, 1.8125}, {FibreBraid, 20, 1.125}, {FibreBraid, 6, 0.3125}, {OneWire, 20, 1.25}, {TwoWire, 8, 0.5}} {
		got, err := HoseBore(c.spec, c.dash)
		if err != nil || math.Abs(float64(got)/q.Inch-c.inch) > 1e-9 {
			t.Errorf("%s -%d: %v, %v, want %g in", c.spec, c.dash, got, err, c.inch)
		}
	}
	if _, err := HoseBore(MultiBraid, 20); err == nil {
		t.Error("MIL-H-8788 has no -20")
	}
}

// An aluminium tube of 8 mm bore and 1 mm wall carries waves of gasoline between
// those of steel and of plastic: Korteweg with E 70 GPa, by hand
// sqrt(1.3e9/745/(1 + 1.3 8/70)) = 1232.6 m/s.
func TestWaveSpeedInAluminium(t *testing.T) {
	e, err := WallModulus("Aluminum")
	if err != nil {
		t.Fatal(err)
	}
	if a := float64(WaveSpeed(1.3e9, 745, e, 8*q.MM, 1*q.MM)); math.Abs(a-1232.5) > 0.5 {
		t.Errorf("%.1f m/s", a)
	}
	if _, err := WallModulus("rubber"); err == nil {
		t.Error("rubber has a published modulus")
	}
}
