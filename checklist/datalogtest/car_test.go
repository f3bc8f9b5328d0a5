package datalogtest

import (
	"math"
	"testing"
)

// TestExampleFollowsTheNotes holds the network of the example to the pressure
// differences that the trade notes' table gives (common practice, re-calculated
// there), within the 0.05 bar by which that table is itself uneven.
func TestExampleFollowsTheNotes(t *testing.T) {
	rpms := []float64{3000, 3500, 4000, 5000, 6000, 7000, 7200}
	notes := map[Fault][]float64{
		Healthy:       {3.01, 2.99, 3.02, 2.98, 3.00, 3.02, 2.99},
		Relief:        {3.00, 3.00, 2.72, 2.64, 2.65, 2.66, 2.65},
		WornPump:      {3.00, 3.00, 3.01, 2.99, 3.00, 2.97, 2.90},
		VoltageSag:    {3.00, 3.00, 3.01, 2.99, 3.00, 2.82, 2.75},
		ReferenceLeak: {2.92, 2.79, 2.73, 2.71, 2.72, 2.73, 2.71},
		Offset:        {2.71, 2.70, 2.71, 2.69, 2.70, 2.71, 2.70},
		Restriction:   {2.99, 2.94, 2.90, 2.80, 2.71, 2.66, 2.64},
	}
	for _, f := range Faults() {
		want, ok := notes[f]
		if !ok && f != NoReference {
			t.Fatalf("the notes have no %s", f)
		}
		c := Example(f)
		across := c.Across()
		for i, rpm := range rpms {
			mapKPa := Interpolate(Boosted, rpm)
			got := across(mapKPa, rpm*mapKPa/(TopRPM*TopMAP), c.Volts(rpm))
			if f == NoReference { // held to the open air, so boost comes off the whole of it
				want = append(want, Base-(mapKPa-Barometer)/100)
			}
			if math.Abs(got-want[i]) > 0.08 {
				t.Errorf("%s at %v rpm: %.3f bar, want %.2f", f, rpm, got, want[i])
			}
		}
	}
}
