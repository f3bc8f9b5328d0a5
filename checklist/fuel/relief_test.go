package fuel

import (
	"math"
	"testing"

	q "feedproof/schema/quantity"
)

// A relief valve leaves the curve below it and gives nothing at it.
func TestRelieved(t *testing.T) {
	var p Pump
	for _, bar := range []float64{2, 3, 4, 5, 6} {
		for _, volts := range []q.Voltage{12, 13.5} {
			p.Curve = append(p.Curve, CurvePoint{Pressure: q.Difference(bar * q.Bar), Voltage: volts, Flow: q.Flow(300-20*bar+10*float64(volts)) * q.LPerH})
		}
	}
	before, err := NewCurve(p)
	if err != nil {
		t.Fatal(err)
	}
	after, err := NewCurve(p.Relieved(4.6 * q.Bar))
	if err != nil {
		t.Fatal(err)
	}
	for _, bar := range []float64{2, 3.5, 4.5} {
		a, err1 := before.Flow(q.Difference(bar*q.Bar), 13)
		b, err2 := after.Flow(q.Difference(bar*q.Bar), 13)
		if err1 != nil || err2 != nil || math.Abs(float64(a/b)-1) > 1e-12 {
			t.Errorf("at %g bar %v and %v, %v %v", bar, a, b, err1, err2)
		}
	}
	if none, err := after.Flow(4.6*q.Bar, 13); err != nil || none != 0 {
		t.Errorf("at its relief it gives %v, %v", none, err)
	}
	if same := p.Relieved(6.5 * q.Bar); len(same.Curve) != len(p.Curve) || same.Relief != 0 {
		t.Errorf("a relief above the curve changes it: %+v", same)
	}
}
