package rules

import (
	"slices"
	"strings"
	"testing"
	"time"

	"feedproof/schema"
)

// TestWhatRuns: after a test that ran the pump no joint is free of pressure and
// no plug dead, after one that ran the engine no surface is known to be cool,
// until it is read again. A log is both.
func TestWhatRuns(t *testing.T) {
	for _, test := range schema.Readings {
		data := schema.ReadingData{Test: test.Name, Values: []schema.Value{{Name: "other", State: schema.NotMeasured, Why: "x"}}}
		staleAfter(t, test.Name, data, test.Runs >= schema.RunsPump, test.Runs == schema.RunsEngine)
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
