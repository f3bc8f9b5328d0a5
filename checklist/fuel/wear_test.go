package fuel

import (
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// Readings that are all lower, or known less well, never leave more margin. One
// lower reading alone may: it can make the others agree better.
func TestWorseTestsNeverMoreMargin(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(3, 7).Draw(t, "tests")
		var tests []Observed
		for i := range n {
			tests = append(tests, Observed{float64(i+1) * 4000, 1 - 0.01*float64(i) + rapid.Float64Range(-0.02, 0.02).Draw(t, "off"), 0.012})
		}
		before, err := FitWear(tests, 0.01)
		if err != nil {
			t.Fatal(err)
		}
		lower, doubt := rapid.Float64Range(0, 0.05).Draw(t, "lower"), rapid.Float64Range(1, 3).Draw(t, "less well known")
		for i := range tests {
			tests[i].Y -= lower
			tests[i].U *= doubt
		}
		after, err := FitWear(tests, 0.01)
		if err != nil {
			t.Fatal(err)
		}
		if at := after.Last(); after.Low(at) > before.Low(at)+1e-12 {
			t.Fatalf("lower bound %.6f, with worse tests %.6f", before.Low(at), after.Low(at))
		}
	})
}

// The crossing lies on the bound, and the bound is above the level before it.
func TestCrossingLiesOnTheBound(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		slope := rapid.Float64Range(0, 0.02).Draw(t, "slope")
		var tests []Observed
		for i := range 5 {
			tests = append(tests, Observed{float64(i * 5000), 0.99 - slope*float64(i) + rapid.Float64Range(-0.01, 0.01).Draw(t, "off"), 0.01})
		}
		w, err := FitWear(tests, 0.01)
		if err != nil {
			t.Fatal(err)
		}
		level := rapid.Float64Range(0.75, 0.95).Draw(t, "level")
		x, meets := w.Meets(level)
		end := w.Last() + w.Span()
		if !meets {
			if w.Low(end) < level-1e-9 {
				t.Fatalf("does not meet %.4f up to %g, where the bound is %.4f", level, end, w.Low(end))
			}
			return
		}
		if x > w.Last() && (w.Low(x) < level-1e-9 || w.Low(x) > level+1e-9) {
			t.Fatalf("meets %.6f at %g, where the bound is %.6f", level, x, w.Low(x))
		}
		for k := range 20 {
			if at := w.Last() + (x-w.Last())*float64(k)/20; at < x && w.Low(at) < level-1e-9 {
				t.Fatalf("bound %.6f at %g, before the crossing at %g", w.Low(at), at, x)
			}
		}
	})
}

func TestWearRefuses(t *testing.T) {
	for name, c := range map[string]struct {
		tests []Observed
		want  string
	}{
		"two":        {[]Observed{{0, 1, 0.01}, {1000, 0.99, 0.01}}, "2 tests, from 3"},
		"same place": {[]Observed{{0, 1, 0.01}, {1000, 0.99, 0.01}, {1000, 0.98, 0.01}}, "test 3: at 1000, not after 1000"},
		"no doubt":   {[]Observed{{0, 1, 0.01}, {1000, 0.99, 0}, {2000, 0.98, 0.01}}, "test 2: ratio 0.990 with uncertainty 0.000"},
	} {
		if _, err := FitWear(c.tests, 0.01); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: %v, want %q", name, err, c.want)
		}
	}
}
