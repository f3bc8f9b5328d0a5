package datalog

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"feedproof/schema/quantity"
)

// lapText is a log of so many seconds at a rate, with an acceleration to the
// left as given.
func lapText(seconds, rate float64, left func(t float64) float64) string {
	var b strings.Builder
	b.WriteString("Time (s),RPM (rpm),Throttle (%),Long G (g),Lat G (g)\n")
	for i := range int(seconds * rate) {
		t := float64(i) / rate
		fmt.Fprintf(&b, "%.3f,5000,80,0.25,%.4f\n", t, left(t))
	}
	return b.String()
}

func lapOfText(t testing.TB, text string) ([]Drive, error) {
	t.Helper()
	p, err := Propose(strings.NewReader(text))
	if err != nil {
		t.Fatal(err)
	}
	return Lap(strings.NewReader(text), p.Mapping, Conditions{})
}

// A steady value passes the filter whole; a sine of its corner frequency, 1 Hz,
// is let through by a half to nine tenths (a first-order filter: 0.71, after
// means of a tenth of a second).
func TestLapFiltersAtOneHertz(t *testing.T) {
	log, err := lapOfText(t, lapText(20, 100, func(t float64) float64 { return math.Sin(2 * math.Pi * t) }))
	if err != nil {
		t.Fatal(err)
	}
	if len(log) != 200 {
		t.Fatalf("%d slices of 20 s, want 200", len(log))
	}
	most := 0.0
	for _, d := range log[50:] {
		most = max(most, quantity.In(d.Left, "g"))
		if got := quantity.In(d.Forward, "g"); math.Abs(got-0.25) > 1e-9 {
			t.Fatalf("forward %g g, logged 0.25", got)
		}
		if math.Abs(float64(d.Throttle)-0.8) > 1e-9 {
			t.Fatalf("throttle %v", d.Throttle)
		}
	}
	if most < 0.5 || most > 0.9 {
		t.Errorf("1 Hz is let through by %.2f", most)
	}
}

func TestLapRefuses(t *testing.T) {
	steady := func(float64) float64 { return 0.9 }
	whole := lapText(10, 20, steady)
	lines := strings.Split(whole, "\n")
	for name, c := range map[string]struct{ text, want string }{
		"gap":       {strings.Join(append(append([]string{}, lines[:50]...), lines[70:]...), "\n"), "a gap of 1.1 s at 2.4 s"},
		"short":     {lapText(3, 20, steady), "lap: the log is 3.0 s long, from 5.0 s to 7200.0 s"},
		"backward":  {strings.Join(append(append([]string{}, lines[:100]...), lines[50:]...), "\n"), "time runs backward"},
		"blank":     {strings.ReplaceAll(whole, ",0.9000", ","), "lateral acceleration is blank for more than 0.5 s"},
		"no motion": {strings.NewReplacer("Long G (g)", "Oil (bar)", "Lat G (g)", "Water (degC)").Replace(whole), "neither lateral acceleration nor longitudinal acceleration"},
	} {
		if _, err := lapOfText(t, c.text); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: %v, want %q", name, err, c.want)
		}
	}
}

// A log of 2 min at 100 rows a second.
func BenchmarkLapLog(b *testing.B) {
	text := lapText(120, 100, func(t float64) float64 { return math.Sin(t / 3) })
	p, err := Propose(strings.NewReader(text))
	if err != nil {
		b.Fatal(err)
	}
	b.SetBytes(int64(len(text)))
	for b.Loop() {
		if _, err := Lap(strings.NewReader(text), p.Mapping, Conditions{}); err != nil {
			b.Fatal(err)
		}
	}
}
