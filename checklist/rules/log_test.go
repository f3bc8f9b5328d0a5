package rules

import (
	"math"
	"testing"
	"time"

	"feedproof/checklist/datalog"
	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/quantity"
)

func known[Q quantity.Quantity](q Q) datalog.Worst[Q] {
	return datalog.Worst[Q]{Value: q, At: 6.4, Known: true}
}

// TestLogValuesComeBack writes every value of a result and reads it again.
func TestLogValuesComeBack(t *testing.T) {
	const bar = quantity.Bar
	r := datalog.Result{
		LowestDrop: known(quantity.Difference(2.7 * bar)), Shortfall: known(quantity.Difference(0.3 * bar)), Fall: known(quantity.Difference(0.2 * bar)),
		Pulsation: known(quantity.Difference(0.6 * bar)), DropOff: known(quantity.Difference(0.05 * bar)),
		Duty: known(quantity.Fraction(0.882)), DutyOff: known(quantity.Fraction(0.232)), PumpCommand: known(quantity.Fraction(0.9)),
		Lean: known(quantity.Lambda(0.041)), Rich: known(quantity.Lambda(0.012)), Power: known(quantity.Power(363e3)),
		VoltsLost: known(quantity.Voltage(0.4)), PumpVoltage: known(quantity.Voltage(13.2)), Temperature: known(quantity.Celsius(48)),
		RailZero: known(quantity.Gauge(1.01 * bar)), Ethanol: datalog.Level[quantity.Fraction]{Value: 0.62, Known: true},
		PumpStop: datalog.Stop{After: 1.4, Known: true},
		Slope:    datalog.Fit{Slope: 0.97, Span: 195e3, Known: true},
	}
	l := state.Log{Data: schema.DatalogData{Worst: LogValues(r)}}
	if len(l.Data.Worst) != len(logValues) {
		t.Fatalf("%d values are kept of %d", len(l.Data.Worst), len(logValues))
	}
	same(t, l, logPressure, r.LowestDrop.Value)
	same(t, l, logShortfall, r.Shortfall.Value)
	same(t, l, logFall, r.Fall.Value)
	same(t, l, logSlope, r.Slope.Slope)
	same(t, l, logSlopeSpan, quantity.Difference(r.Slope.Span))
	same(t, l, logPulsation, r.Pulsation.Value)
	same(t, l, logPressureOff, r.DropOff.Value)
	same(t, l, logDuty, r.Duty.Value)
	same(t, l, logDutyOff, r.DutyOff.Value)
	same(t, l, logPumpCommand, r.PumpCommand.Value)
	same(t, l, logLean, r.Lean.Value)
	same(t, l, logRich, r.Rich.Value)
	same(t, l, logPower, r.Power.Value)
	same(t, l, logVoltsLost, r.VoltsLost.Value)
	same(t, l, logPumpVolts, r.PumpVoltage.Value)
	same(t, l, logFuelTemp, r.Temperature.Value)
	same(t, l, logRailZero, r.RailZero.Value)
	same(t, l, logEthanol, r.Ethanol.Value)
	same(t, l, logPumpStop, r.PumpStop.After)
	if n := len(LogValues(datalog.Result{})); n != 0 {
		t.Errorf("an empty result keeps %d values", n)
	}
}

func same[Q quantity.Quantity](t *testing.T, l state.Log, name string, want Q) {
	t.Helper()
	got, _, ok := logged[Q](l, name)
	if !ok || math.Abs(float64(got-want)) > 1e-6*math.Abs(float64(want)) {
		t.Errorf("%s is %v, want %v", name, got, want)
	}
}

// TestLogVerdicts: what a log cannot prove stands under each limit's id.
func TestLogVerdicts(t *testing.T) {
	r := datalog.Result{
		Proofs: []datalog.Proof{
			{Check: "filter", State: datalog.Unproven, Text: "filtered over 0.5 s", Limits: []string{"L03", "L04a"}},
			{Check: "text", State: datalog.Proven, Text: "every row was read", Limits: []string{"L04b"}},
			{Check: "time", State: datalog.Auditor, Text: "2 gaps"},
		},
		Signatures: []datalog.Signature{{ID: "S05", Name: "reference", State: datalog.Seen, Text: "slope 0.9"}},
	}
	l := state.Log{Data: schema.DatalogData{Verdicts: LogVerdicts(r)}}
	if (l.Data.Verdicts[2] != schema.Verdict{ID: "time", State: string(datalog.Auditor), Text: "2 gaps"}) {
		t.Errorf("for the auditor: %+v", l.Data.Verdicts[2])
	}
	if len(l.Data.Verdicts) != 4 {
		t.Fatalf("%d verdicts, want 4: %v", len(l.Data.Verdicts), l.Data.Verdicts)
	}
	for limit, want := range map[string]string{"L03": "filter: filtered over 0.5 s", "L04a": "filter: filtered over 0.5 s", "L04b": "", "S05": ""} {
		if got := logTrouble(l, limit); got != want {
			t.Errorf("%s: %q, want %q", limit, got, want)
		}
	}
}

// TestLastPull: the last loaded log counts, an idle one does not, and a change
// of what it tested takes it away.
func TestLastPull(t *testing.T) {
	log := func(run, duty string) schema.DatalogData {
		return schema.DatalogData{File: "run.csv", SHA256: "aa", Run: run, Mapping: []schema.ChannelMap{}, Worst: []schema.NamedValue{{Name: logDuty, Value: duty, Unit: "%"}, {Name: logFall, Value: "0", Unit: "bar"}}}
	}
	s := func() *story { return tell(t).add(0, visit(schema.OpenVisit, "1", 1)) }
	s().add(time.Hour, log("pull", "96")).wants(day, "L03", schema.Block)
	s().add(time.Hour, log("pull", "96")).add(2*time.Hour, log("pull", "80")).wants(day, "L03", schema.OK)
	s().add(time.Hour, log("pull", "96")).add(2*time.Hour, log("idle", "4")).wants(day, "L03", schema.Block)
	s().add(time.Hour, log("road", "96")).wants(day, "L03", schema.Block)
	if found := s().add(time.Hour, log("pull", "96")).add(2*time.Hour, schema.FitData{Position: "injectors", WhyNone: "customer's"}).at(day, "L03"); found != nil {
		t.Errorf("other injectors since: %v", found)
	}
}
