package rules

import (
	"slices"
	"strings"
	"testing"
	"time"

	"feedproof/schema"
)

// What runs for each test: the words of the trade's test list (V-01 to V-26),
// common practice. "vent" is read after a drive, "stop" after a stall.
var (
	runsEngine  = []string{"idle", "load", "supply", "charging", "hot restart", "lambda", "return", "stop", "vent"}
	runsPump    = []string{"base", "leak", "leak-down", "prime", "flow", "slope", "relief", "filter", "suction", "pump alone", "transfer", "needle"}
	runsNothing = []string{"gas", "zero", "winding", "tank air", "fuel temperature", "ethanol", "slope parking", "bond", "plug", "surface", "torque", "measure", "spread", "spill"}
)

// TestWhatRuns: after a test that ran the pump no joint is free of pressure and
// no plug dead, after one that ran the engine no surface is known to be cool,
// until it is read again. A log is both.
func TestWhatRuns(t *testing.T) {
	for _, test := range schema.Readings {
		engine, pump := slices.Contains(runsEngine, test.Name), slices.Contains(runsPump, test.Name)
		if engine == pump && !slices.Contains(runsNothing, test.Name) {
			t.Fatalf("%s: nobody said what runs for it", test.Name)
		}
		staleAfter(t, test.Name, schema.ReadingData{Test: test.Name, Values: []schema.Value{{Name: "other", State: schema.NotMeasured, Why: "x"}}}, pump || engine, engine)
	}
	for _, run := range []string{"pull", "idle"} {
		staleAfter(t, "log of "+run, schema.DatalogData{File: "run.csv", SHA256: strings.Repeat("a1", 32), Run: run, Mapping: []schema.ChannelMap{}}, true, true)
	}
}

func staleAfter(t *testing.T, what string, between schema.Data, pump, engine bool) {
	t.Helper()
	s := tell(t).add(0, visit(schema.OpenVisit, "1", 1))
	for i, before := range []schema.ReadingData{
		reading("surface", schema.Value{Name: "temperature", Value: "30", Unit: "degC"}),
		reading("zero", schema.Value{Name: "rail", Value: "0.00", Unit: "bar"}),
		reading("plug", schema.Value{Name: "volts", Value: "0.00", Unit: "V", Gauge: &schema.GaugeSnapshot{Gauge: "DM1", Due: "2027-01-01"}}),
	} {
		s.add(time.Duration(i+1)*time.Minute, before)
	}
	s.add(5*time.Minute, between)
	s.add(6*time.Minute, schema.StepData{Step: "B12", State: schema.StepDone, Joint: "tank"})
	for rule, want := range map[string]bool{"K05": pump, "K06": pump, "K12": engine} {
		said := slices.ContainsFunc(s.at(day, rule), func(f schema.Finding) bool { return strings.Contains(f.Measured, "ran after the reading") })
		if said != want {
			t.Errorf("%s: %s says that it ran: %v, want %v", what, rule, said, want)
		}
	}
}
