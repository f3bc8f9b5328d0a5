package fuel

import (
	"math"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	q "feedproof/schema/quantity"
)

// Demand is a product of power and consumption, so its relative variance is
// the sum of theirs: sqrt(0.03^2+0.05^2)/sqrt 3 x 1.96 (JCGM 100, 5.1.6).
func TestUncertaintyOfAProduct(t *testing.T) {
	s := turboFour()
	r, err := Uncertainty(s, []Tolerance{{"power", "3 %"}, {"bsfc", "5 %"}}, 1)
	if err != nil {
		t.Fatal(err)
	}
	want := 1.96 * math.Sqrt(0.03*0.03+0.05*0.05) / math.Sqrt(3)
	if got := float64(r.Demand.High/r.Demand.Best) - 1; math.Abs(got-want) > 1e-9 || r.Method != FirstOrder {
		t.Errorf("demand is %.5f uncertain by %s, want %.5f", got, r.Method, want)
	}
}

// Both methods agree where the model is straight: within 2 % of the value.
func TestMethodsAgree(t *testing.T) {
	for name, s := range samples() {
		u, err := newUncertain(s, DefaultTolerances())
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		first, _, err := u.firstOrder()
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		drawn, err := u.monteCarlo(2000, 1)
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		for _, c := range [][2]q.Fraction{{first.Margin.Low, drawn.Margin.Low}, {first.Margin.High, drawn.Margin.High}, {first.Effective.High, drawn.Effective.High}} {
			if math.Abs(float64(c[0]-c[1])) > 0.02*math.Abs(float64(c[1])) {
				t.Errorf("%s: first order says %.4f, drawing %.4f", name, c[0], c[1])
			}
		}
	}
}

// A curve with a knee at the operating point bends; the same seed repeats.
func TestBentModelIsDrawn(t *testing.T) {
	s := turboFour()
	s.Pumps[0].Curve = []CurvePoint{{4 * q.Bar, 13.2, 300 * q.LPerH, 10}, {5.15 * q.Bar, 13.2, 295 * q.LPerH, 12}, {6.5 * q.Bar, 13.2, 60 * q.LPerH, 14}}
	tolerances := []Tolerance{{"base", "0.2 bar"}, {"feed-loss", "20 %"}}
	a, err := Uncertainty(s, tolerances, 7)
	if err != nil {
		t.Fatal(err)
	}
	if a.Method != MonteCarlo || a.Trials == 0 || a.Seed != 7 {
		t.Errorf("method %s, %d trials, seed %d: a knee bends the model", a.Method, a.Trials, a.Seed)
	}
	if !(a.Margin.Low < a.Margin.Best && a.Margin.High >= a.Margin.Best) {
		t.Errorf("margin %+v", a.Margin)
	}
	b, err := Uncertainty(s, tolerances, 7)
	if err != nil || !cmp.Equal(a, b) {
		t.Errorf("not repeated: %v %s", err, cmp.Diff(a, b))
	}
}

func TestToleranceErrors(t *testing.T) {
	for _, c := range []struct {
		tolerance Tolerance
		say       string
	}{{Tolerance{"bfsc", "5 %"}, "not known"}, {Tolerance{"base", "0.1"}, "without a unit"}, {Tolerance{"base", "-0.1 bar"}, "not a half-width"}, {Tolerance{"voltage", "9 V"}, "with voltage at the end of its tolerance"}} {
		if _, err := Uncertainty(turboFour(), []Tolerance{c.tolerance}, 1); err == nil || !strings.Contains(err.Error(), c.say) {
			t.Errorf("%v: %v, want %q in it", c.tolerance, err, c.say)
		}
	}
}

func BenchmarkUncertainty(b *testing.B) {
	s := turboFour()
	for b.Loop() {
		if _, err := Uncertainty(s, DefaultTolerances(), 1); err != nil {
			b.Fatal(err)
		}
	}
}
