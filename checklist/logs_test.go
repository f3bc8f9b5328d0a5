package checklist

import (
	"testing"

	"github.com/google/go-cmp/cmp"

	"feedproof/checklist/datalog"
	"feedproof/schema"
	"feedproof/schema/quantity"
)

// TestLogEntryReadsAgain: an entry keeps all it takes to read the kept file the
// same way again: mapping with scale and filter, header, and conditions.
func TestLogEntryReadsAgain(t *testing.T) {
	m := datalog.Mapping{Header: "aa", SHA256: "bb", Columns: []datalog.Column{
		{Column: "Time", Channel: datalog.Time, Unit: "s"},
		{Column: "FP", Channel: datalog.Rail, Unit: "bar", Sensor: datalog.Gauge, Filter: "0.1 s"},
		{Column: "PW", Channel: datalog.PulseWidth, Unit: "ms", Events: 2},
		{Column: "AFR", Channel: datalog.Lambda, Unit: "AFR", Stoich: "14.7"},
	}}
	k := datalog.Conditions{Barometer: 98.2e3, Base: 3e5, Charger: datalog.No, HoseOff: datalog.Span{From: 4, To: 14.5}}
	d := LogEntry("run.csv", "pull", 7, datalog.Result{Mapping: m}, k, Prediction{Why: "no plan"})
	again := LogMapping(d)
	again.SHA256 = d.SHA256
	if diff := cmp.Diff(m, again); diff != "" {
		t.Errorf("mapping (-kept +read):\n%s", diff)
	}
	got := ReadAgain(d, datalog.Conditions{Cylinders: 4})
	want := k
	want.Cylinders = 4
	if diff := cmp.Diff(want, got, cmp.Comparer(func(a, b datalog.Injectors) bool { return a.Count == b.Count })); diff != "" {
		t.Errorf("conditions (-kept +read):\n%s", diff)
	}
	if kept(d, "running median over").Value != "0.3" || len(d.Gates) < 8 {
		t.Errorf("gates %+v", d.Gates)
	}
	last := d.Verdicts[len(d.Verdicts)-1]
	if (last != schema.Verdict{ID: PredictedVerdict, State: string(datalog.CannotTell), Text: "no plan"}) {
		t.Errorf("prediction %+v", last)
	}
	if got := ReadAgain(schema.DatalogData{}, datalog.Conditions{Base: quantity.Difference(3e5)}); got.Base != 0 {
		t.Errorf("an entry without conditions: %+v", got)
	}
}
