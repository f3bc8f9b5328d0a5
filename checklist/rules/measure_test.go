package rules

import (
	"math"
	"testing"
	"time"

	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/quantity"
)

func nearly(a, b float64) bool { return math.Abs(a/b-1) < 0.005 }

// TestUncertaintyOfAGauge holds the half-widths to the trade's own arithmetic:
// a dial of class 1.6 over 10 bar is +- 0.16 bar, class 1.0 over 7 bar +- 0.07
// (EN 837-1), a sensor of 0.25 % over 10 bar +- 0.025; two readings of a sensor
// of +- 0.05 bar that shows 0.01 bar differ by +- 0.025 (0.3 U + resolution,
// common practice). Half a division is added in quadrature.
func TestUncertaintyOfAGauge(t *testing.T) {
	bars := func(x string) quantity.Written { return quantity.Written{Value: x, Unit: "bar"} }
	for _, c := range []struct {
		name    string
		value   string
		gauge   schema.GaugeSnapshot
		u, diff float64 // bar
	}{
		{"class 1.6 of 10 bar", "3.000", schema.GaugeSnapshot{Class: "1.6", Span: bars("10")}, 0.16, 0.048 + 0.001},
		{"class 1.0 of 7 bar", "3.000", schema.GaugeSnapshot{Class: "1.0", Span: bars("7")}, 0.07, 0.022},
		{"sensor of 0.25 % of 10 bar", "3.000", schema.GaugeSnapshot{Class: "0.25", Span: bars("10")}, 0.025, 0.0085},
		{"sensor of 0.05 bar that shows 0.01", "3.00", schema.GaugeSnapshot{Accuracy: bars("0.05"), Resolution: bars("0.01")}, 0.0502, 0.02507},
		{"its readings written to 0.1", "3.0", schema.GaugeSnapshot{Accuracy: bars("0.05"), Resolution: bars("0.01")}, math.Hypot(0.05, 0.05), 0.3*math.Hypot(0.05, 0.05) + 0.1},
		{"division of 0.2, written to 0.01", "3.00", schema.GaugeSnapshot{Accuracy: bars("0.05"), Resolution: bars("0.2")}, math.Hypot(0.05, 0.1), 0.3*math.Hypot(0.05, 0.1) + 0.2},
		{"accuracy before class", "3.000", schema.GaugeSnapshot{Accuracy: bars("0.05"), Class: "1.6", Span: bars("10")}, 0.05, 0.016},
	} {
		u, diff, trouble := uncertainty[quantity.Gauge](schema.Value{Value: c.value, Unit: "bar", Gauge: &c.gauge})
		if trouble.is() || !nearly(float64(u)/quantity.Bar, c.u) || !nearly(float64(diff)/quantity.Bar, c.diff) {
			t.Errorf("%s: %g and %g bar %v, want %g and %g", c.name, float64(u)/quantity.Bar, float64(diff)/quantity.Bar, trouble, c.u, c.diff)
		}
	}
	for name, g := range map[string]schema.GaugeSnapshot{
		"class without span": {Class: "1.6"}, "span without class": {Span: bars("10")}, "class 0": {Class: "0", Span: bars("10")}, "accuracy 0": {Accuracy: bars("0")}, "nothing": {},
	} {
		if _, _, trouble := uncertainty[quantity.Gauge](schema.Value{Value: "3.00", Unit: "bar", Gauge: &g}); !trouble.is() {
			t.Errorf("%s: proves something", name)
		}
	}
}

// TestDifferenceOfTwo: read on one gauge, the coarser of the two; on two gauges
// both.
func TestDifferenceOfTwo(t *testing.T) {
	fine, coarse := measured[quantity.Gauge]{u: 5, diff: 1, gauge: "PG1"}, measured[quantity.Gauge]{u: 12, diff: 3, gauge: "PG1"}
	if got := apart(fine, coarse); got != 3 {
		t.Errorf("one gauge: %g", got)
	}
	if got := apart(coarse, fine); got != 3 {
		t.Errorf("one gauge: %g", got)
	}
	coarse.gauge = "PG2"
	if got := apart(fine, coarse); got != 13 {
		t.Errorf("two gauges: %g", got)
	}
}

// TestFoundBadOfAny: a value without a gauge hides no other.
func TestFoundBadOfAny(t *testing.T) {
	check, err := schema.NewEntry(schema.Origin{By: "lead-1", Device: "office", Counter: 1, At: epoch.Add(day), Entered: epoch.Add(day)}, schema.CheckData{Check: schema.Comparison, Result: schema.Bad})
	if err != nil {
		t.Fatal(err)
	}
	bad := schema.NewRecord(schema.GaugeRecord, "PG1").With(check)
	shop := schema.Shop{Gauge: func(id string) (schema.Record, bool) { return bad, id == "PG1" }}
	s := inFirstVisit(t)
	s.add(time.Minute, reading("leak", schema.Value{Name: "held", Value: "90", Unit: "s"}, schema.Value{Name: "pressure", Value: "4", Unit: "bar", Gauge: &schema.GaugeSnapshot{Gauge: "PG1"}}))
	s.add(2*time.Minute, reading("leak", schema.Value{Name: "held", Value: "90", Unit: "s"}))
	c := state.Fold(state.Told(s.record), shop, epoch.Add(2*day))
	if FoundBad(c, c.Readings[0]) == "" || FoundBad(c, c.Readings[1]) != "" {
		t.Error("a bad gauge is not found, or one that was not named")
	}
}
