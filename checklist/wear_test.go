package checklist_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"feedproof/checklist"
	"feedproof/checklist/rules"
	"feedproof/schema"
)

// timed adds a visit with an odometer and a timed flow of 2.1 L.
func timed(t helper, s *situation, number int, day string, km int, seconds float64) {
	t.Helper()
	visit := fmt.Sprint(number)
	odometer := map[string]any{"value": fmt.Sprint(km), "unit": "km"}
	s.apply(t,
		edit{Add: &compact{Name: "open " + visit, Kind: "visit", By: "tech-1", At: day, Data: map[string]any{"action": "open", "visit": visit, "reason": "flow test", "odometer": odometer}}},
		edit{Add: &compact{Name: "flow " + visit, Kind: "reading", By: "tech-1", At: day, Data: map[string]any{"test": "flow", "values": []any{
			map[string]any{"name": "volume", "value": "2.10", "unit": "L"}, map[string]any{"name": "time", "value": fmt.Sprintf("%.1f", seconds), "unit": "s"},
			map[string]any{"name": "pressure", "value": "4.45", "unit": "bar", "gauge": "PG1"}, map[string]any{"name": "volts", "value": "13.20", "unit": "V", "gauge": "DM1"}}}}},
		edit{Add: &compact{Name: "close " + visit, Kind: "visit", By: "tech-1", At: day, Data: map[string]any{"action": "close", "visit": visit, "odometer": odometer}}})
}

// worn is the clean car with its first timed flow in visit 1, and later ones.
func worn(t helper, seconds ...float64) *situation {
	t.Helper()
	s := loadBase(t, "rechecked").copied()
	s.own()
	s.apply(t, edit{Add: &compact{Name: "close 2", Kind: "visit", By: "tech-1", At: "+22d", Data: map[string]any{"action": "close", "visit": "2"}}})
	for i, sec := range seconds {
		timed(t, s, 3+i, fmt.Sprintf("+%dd", 40+20*i), 186000+3000*i, sec)
	}
	s.moment = s.start.AddDate(0, 0, 130)
	return s
}

func wearOf(t *testing.T, s *situation) rules.Wear {
	t.Helper()
	b := s.build(t)
	a := checklist.Assess(b.record, b.shop, b.moment)
	w, err := checklist.Wear(a.Car)
	if err != nil {
		t.Fatal(err)
	}
	return w
}

// The ratio of the clean car's test is its flow over the curve's, by hand: 2.1 L
// in 28 s is 270 L/h; the invented curve gives 284.25 L/h at 4.45 bar and 13.5 V,
// 217 at 12 V, so 270.8 at 13.2 V.
func TestWearTakesTheTestsOfAllVisits(t *testing.T) {
	w := wearOf(t, worn(t, 28.6, 29.2, 29.8))
	if len(w.Tests) != 4 || w.Axis != "km" || w.Trend == nil {
		t.Fatalf("%d tests over %s, skipped %q, %s", len(w.Tests), w.Axis, w.Skipped, w.Why)
	}
	if r := w.Tests[0].Ratio; math.Abs(r.Value-270/270.8) > 5e-4 || r.U < 0.005 || r.U > 0.03 {
		t.Errorf("first ratio %.4f with uncertainty %.4f", r.Value, r.U)
	}
	if !(w.Trend.Line.Slope < 0) || !(w.Low < w.Margin) || !strings.Contains(w.Outlook(), "km") {
		t.Errorf("slope %g, margin %v, low %v, %s", w.Trend.Line.Slope, w.Margin, w.Low, w.Outlook())
	}
}

// Below three there is no trend and no finding; the bound of the last stands.
func TestWearBelowThreeTests(t *testing.T) {
	w := wearOf(t, worn(t, 29))
	if w.Trend != nil || w.Why != "2 tests at different distances or days, a trend takes 3" || !(w.Low > 0 && w.Low < w.Margin) {
		t.Errorf("trend %v, why %q, low %v of %v", w.Trend, w.Why, w.Low, w.Margin)
	}
}

// Another pump begins a new series.
func TestWearStartsAnewWithAnotherPump(t *testing.T) {
	s := worn(t, 28.6, 29.2, 29.8)
	for _, e := range s.entries {
		if e.Kind == "fit" && e.Data["position"] == "pump" {
			again := e.copied()
			again.Name, again.At = "another pump", s.entries[find(t, s.entries, "open 5")].At
			s.apply(t, edit{Add: again, After: "open 5"})
			break
		}
	}
	if w := wearOf(t, s); len(w.Tests) != 1 || w.Trend != nil {
		t.Errorf("%d tests after another pump was fitted", len(w.Tests))
	}
}

// Worse readings never leave a better margin; and the rule speaks of it.
func TestWearIsJudged(t *testing.T) {
	last := math.Inf(1)
	for _, c := range []struct {
		seconds []float64
		want    schema.Severity
	}{{[]float64{28.1, 28.2, 28.3}, schema.OK}, {[]float64{33, 36, 40}, schema.Flag}, {[]float64{40, 44, 48}, schema.Hold}} {
		s := worn(t, c.seconds...)
		s.apply(t, edit{Add: &compact{Name: "here again", Kind: "visit", By: "tech-1", At: "+129d", Data: map[string]any{"action": "open", "visit": "6", "kinds": []any{"b"}, "reason": "another"}}})
		b := s.build(t)
		w := wearOf(t, s)
		found := false
		for _, f := range checklist.Assess(b.record, b.shop, b.moment).Findings {
			if f.Rule == "L43" {
				found = true
				if f.Severity < c.want {
					t.Errorf("%v: %s, want at least %s: %s", c.seconds, f.Severity, c.want, f.Measured)
				}
			}
		}
		if !found {
			t.Errorf("%v: L43 says nothing", c.seconds)
		}
		if float64(w.Low) > last {
			t.Errorf("%v: low %v, better than of slower tests", c.seconds, w.Low)
		}
		last = float64(w.Low)
	}
}

// The re-check is due in 30 days, and before that where the margin is used up.
func TestRecheckComesBeforeTheMarginIsUsedUp(t *testing.T) {
	for _, c := range []struct {
		seconds []float64
		early   bool
	}{{[]float64{28.1, 28.2, 28.3}, false}, {[]float64{31, 34, 37}, true}} {
		s := worn(t, c.seconds...)
		b := s.build(t)
		a := checklist.Assess(b.record, b.shop, b.moment)
		day, why := checklist.RecheckBy(a.Car, b.moment)
		if early := day.Before(b.moment.AddDate(0, 0, checklist.RecheckDays)); early != c.early || early != (why != "") || day.Before(b.moment) {
			t.Errorf("%v: by %s, %q", c.seconds, day, why)
		}
	}
}
