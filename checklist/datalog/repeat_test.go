package datalog

import (
	"math"
	"testing"

	"feedproof/checklist/datalogtest"
	"feedproof/schema/quantity"
)

// TestRepeats: two pulls of one car repeat; one of a car with an offset of 0.3
// bar is 0.3 bar off everywhere, and its lambda follows the root of it.
func TestRepeats(t *testing.T) {
	healthy := analyse(t, faulty(datalogtest.Healthy), testConditions).Worst
	again := faulty(datalogtest.Healthy)
	again.Seed, again.PullTime = 5, 8
	same := Repeats(analyse(t, again, testConditions).Worst, healthy)
	if same.Points < 40 || !same.Drop.Known || math.Abs(quantity.In(same.Drop.By, "bar")) > 0.05 || math.Abs(float64(same.Duty.By)) > 0.02 || math.Abs(float64(same.Lambda.By)) > 0.01 {
		t.Errorf("the same car: %+v", same)
	}
	low := Repeats(analyse(t, faulty(datalogtest.Offset), testConditions).Worst, healthy)
	if by := quantity.In(low.Drop.By, "bar"); math.Abs(by+0.3) > 0.05 {
		t.Errorf("0.3 bar low: %v", by)
	}
	if by := float64(low.Lambda.By); math.Abs(by-datalogtest.Target*(math.Sqrt(3/2.7)-1)) > 0.01 {
		t.Errorf("lambda %v", by)
	}
	if none := Repeats(healthy, nil); none.Points != 0 || none.Drop.Known {
		t.Errorf("against nothing: %+v", none)
	}
}
