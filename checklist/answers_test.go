package checklist_test

import (
	"slices"
	"testing"

	"feedproof/checklist"
	"feedproof/checklist/rules"
	"feedproof/schema"
)

// lossy is a car whose wiring eats 0.55 V, a FLAG that a lead acknowledged as it
// was shown.
func lossy(t helper, after ...edit) *situation {
	s := loadBase(t, "clean")
	s.apply(t, change("supply", "source", 13.95, "pump", 13.40))
	f := findingOf(t, s, "L10")
	s.apply(t, late("seen", "acknowledge", "lead-2", map[string]any{
		"rule": f.Rule, "subject": f.Subject, "code": string(f.Code), "values": amounts(f.Values), "why": "old loom, owner knows",
	}))
	s.apply(t, after...)
	return s
}

// findingOf is the heaviest finding of a rule.
func findingOf(t helper, s *situation, rule string) schema.Finding {
	t.Helper()
	b := s.build(t)
	found := checklist.Evaluate(b.record, b.shop, b.moment)
	i := slices.IndexFunc(found, func(f schema.Finding) bool { return f.Rule == rule })
	if i < 0 {
		t.Fatalf("no finding of %s", rule)
	}
	return found[i]
}

// dataOf is what an entry of the car says.
func dataOf(t helper, s *situation, name string) map[string]any {
	t.Helper()
	for _, c := range s.entries {
		if c.Name == name {
			return c.Data
		}
	}
	t.Fatalf("no entry %q", name)
	return nil
}

// TestAnAnswerHoldsForWhatItSaw: what was changed, or read again, after it was
// not answered by it, be the number the same; a number that came out better,
// with nothing new read, is.
func TestAnAnswerHoldsForWhatItSaw(t *testing.T) {
	t.Parallel()
	again := func(name string) edit {
		return edit{Add: &compact{Name: name, Kind: "reading", By: "tech-1", At: "+1618m", Data: copied(dataOf(t, lossy(t), "supply")).(map[string]any)}}
	}
	fit := edit{Add: &compact{Name: "pump anew", Kind: "fit", By: "tech-1", At: "+1615m", Data: map[string]any{"position": "pump", "part": "pump-1"}}}
	shown := func(volts float64) *situation {
		s := lossy(t)
		s.apply(t, change("supply", "source", 13.40+volts, "pump", 13.40)) // as if a slip had stood there
		return s
	}
	for _, c := range []struct {
		what string
		s    *situation
		want bool
	}{
		{"as it was", lossy(t), true},
		{"read again, the same", lossy(t, again("supply again")), false},
		{"the part changed, and the same read again", lossy(t, fit, again("supply again")), false},
		{"better than it was shown", shown(0.53), true},
		{"worse than it was shown, by more than the meter's error", shown(0.70), false},
	} {
		f := findingOf(t, c.s, "L10")
		if got := f.Answered != ""; got != c.want || f.Severity != schema.Flag {
			t.Errorf("%s: answered %v, want %v: %s", c.what, got, c.want, told([]schema.Finding{f}))
		}
	}
}

// TestAnAnswerIsForOneCode: who took the loss of volts as it was shown has not
// taken a meter that proves nothing.
func TestAnAnswerIsForOneCode(t *testing.T) {
	t.Parallel()
	s := lossy(t, edit{Gauge: "DM1", Entry: "calibration", Set: map[string]any{"/due": "2026-01-01"}})
	if f := findingOf(t, s, "L10"); f.Answered != "" || f.Code == "outside" {
		t.Errorf("answered: %s", told([]schema.Finding{f}))
	}
}

// TestRewordingLapsesNothing: an answer is not for a sentence.
func TestRewordingLapsesNothing(t *testing.T) {
	s := lossy(t)
	before := findingOf(t, s, "L10")
	rule, _ := rules.Find("L10")
	was := rule.Words[before.Code]
	defer func() { rule.Words[before.Code] = was }()
	rule.Words[before.Code] = rules.Say{Means: "volts are lost on the way", Next: "look for them"}
	after := findingOf(t, s, "L10")
	if after.Means == before.Means {
		t.Fatalf("it still says %q", after.Means)
	}
	if before.Answered == "" || after.Answered != before.Answered {
		t.Errorf("answered by %q, worded otherwise by %q", before.Answered, after.Answered)
	}
}

// TestWhoAnswersAFlag: a lead who did not do the work, and nobody else. A lead
// who closed HP0, planned or answered before has not worked on the car. Source:
// common practice (nobody passes their own work).
func TestWhoAnswersAFlag(t *testing.T) {
	t.Parallel()
	by := func(person string) []edit {
		again := copied(dataOf(t, lossy(t), "seen")).(map[string]any)
		return []edit{{Entry: "seen", Remove: true}, late("seen by another", "acknowledge", person, again)}
	}
	work := func(person string) edit {
		return edit{Add: &compact{Name: "work", Kind: "step", By: person, At: "+1603m", Data: map[string]any{"step": "J8", "state": "done"}}}
	}
	for what, c := range map[string]struct {
		edits []edit
		want  bool
	}{
		"a lead who did not do the work":      {nil, true},
		"the lead who closed HP0":             {by("lead-1"), true},
		"a lead who did other work":           {[]edit{work("lead-2")}, true},
		"another lead did some of it":         {[]edit{work("lead-1")}, true},
		"the technician who did it":           {by("tech-1"), false},
		"a tuner who did nothing and no lead": {by("tuner-1"), false},
		"a stranger":                          {by("lead-9"), false},
	} {
		f := findingOf(t, lossy(t, c.edits...), "L10")
		if got := f.Answered != ""; got != c.want || f.Severity != schema.Flag {
			t.Errorf("%s: answered %v, want %v: %s", what, got, c.want, told([]schema.Finding{f}))
		}
	}
	own := lossy(t)
	own.entries[slices.IndexFunc(own.entries, func(c *compact) bool { return c.Name == "supply" })].By = "lead-2"
	if f := findingOf(t, own, "L10"); f.Answered != "" {
		t.Error("the lead who read it answered it")
	}
}
