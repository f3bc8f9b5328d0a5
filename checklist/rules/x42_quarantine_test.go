package rules

import (
	"testing"
	"time"

	"feedproof/checklist/state"
	"feedproof/schema"
)

// TestQuarantine: a lot on hold blocks every car that carries it, in a visit or
// not; a release lifts only what it had seen.
func TestQuarantine(t *testing.T) {
	entry := func(device string, counter int64, action schema.QuarantineAction, after ...string) schema.Entry {
		e, err := schema.NewEntry(schema.Origin{By: "lead-1", Device: device, Counter: counter, After: after, At: epoch, Entered: epoch}, schema.QuarantineData{Action: action, Why: "low flow", Car: "car"})
		if err != nil {
			t.Fatal(err)
		}
		return e
	}
	hold := entry("bay-1", 1, schema.HoldLot)
	release := entry("bay-1", 2, schema.ReleaseLot, hold.ID)
	elsewhere := entry("bay-2", 2, schema.ReleaseLot)
	again := entry("bay-1", 3, schema.HoldLot, release.ID)
	told := entry("bay-1", 2, schema.ToldOwner, hold.ID)
	for _, c := range []struct {
		what string
		part []schema.Entry
		want schema.Severity
	}{
		{"not held", nil, schema.OK}, {"held", []schema.Entry{hold}, schema.Block}, {"released", []schema.Entry{hold, release}, schema.OK},
		{"released by somebody who had not seen it", []schema.Entry{hold, elsewhere}, schema.Block}, {"held again", []schema.Entry{hold, release, again}, schema.Block}, {"told", []schema.Entry{hold, told}, schema.Block},
	} {
		fit, err := schema.NewEntry(schema.Origin{By: "tech-1", Device: "bay-2", Counter: 1, At: epoch, Entered: epoch}, schema.FitData{Position: "pump", Part: "LOT"})
		if err != nil {
			t.Fatal(err)
		}
		part := func(id string) (schema.Record, bool) {
			return schema.NewRecord(schema.PartRecord, "LOT").With(c.part...), id == "LOT"
		}
		car := state.Fold(state.Told(schema.NewRecord(schema.VehicleRecord, "car").With(fit)), schema.Shop{Part: part}, epoch.Add(time.Hour))
		worst := schema.OK
		for _, f := range judgeQuarantine(car) {
			worst = max(worst, f.Severity)
		}
		if worst != c.want {
			t.Errorf("%s: %s, want %s", c.what, worst, c.want)
		}
	}
}
