package checklist_test

import (
	"fmt"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"feedproof/checklist"
	"feedproof/checklist/fuel"
	"feedproof/schema"
	"feedproof/schema/quantity"
)

// input is something that can be made worse: set applies x, and a higher x is
// worse, from 0 (as in the clean record) to most.
type input struct {
	name string
	most float64
	set  func(x float64) []edit
	// coarse says that worse is a wider uncertainty: it may turn a HOLD into
	// UNPROVEN, since a value fails only when it cannot fit, but never make a
	// car that could not be signed off one that can.
	coarse bool
}

var inputs = []input{
	{name: "volts at the pump lower", most: 4, set: func(x float64) []edit { return []edit{change("supply", "pump", 13.4-x)} }},
	{name: "volts on the ground side higher", most: 0.5, set: func(x float64) []edit { return []edit{change("supply", "ground", 0.1+x)} }},
	{name: "more boost", most: 3, set: func(x float64) []edit { return planSet("/envelope/manifold", num(221.325+100*x), "kPa abs") }},
	{name: "more power", most: 500, set: func(x float64) []edit { return planSet("/envelope/power", num(300+x), "kW") }},
	{name: "higher altitude", most: 3000, set: func(x float64) []edit { return planSet("/envelope/altitude", num(x), "m") }},
	{name: "more ethanol", most: 90, set: moreEthanol},
	{name: "older pump", most: 60, set: func(x float64) []edit { return planSet("/pumps/ageing", num(95-x), "%") }},
	{name: "smaller injectors", most: 800, set: func(x float64) []edit {
		return []edit{{Part: "injectors-1", Set: map[string]any{"/injector/static_flow/value": num(1000 - x)}}}
	}},
	{name: "smaller wire", most: 25, set: func(x float64) []edit { return planSet("/wiring/ampacity", num(30-x), "A") }},
	{name: "more current", most: 15, set: func(x float64) []edit { return []edit{change("supply", "current", 12.8+x)} }},
	{name: "base pressure too high", most: 1, set: func(x float64) []edit { return []edit{change("base", "rail", 3+x)} }},
	{name: "base pressure too low", most: 1, set: func(x float64) []edit { return []edit{change("base", "rail", 3-x)} }},
	{name: "slope flatter", most: 1.2, set: func(x float64) []edit { return slopes(101.3, 200, 1-x) }},
	{name: "slope steeper", most: 1, set: func(x float64) []edit { return slopes(101.3, 200, 1+x) }},
	{name: "hose off and on: falls less", most: 1.5, set: func(x float64) []edit { return []edit{change("idle", "off", 3.0, "on", 2.35+x)} }},
	{name: "hose off and on: falls more", most: 1, set: func(x float64) []edit { return []edit{change("idle", "off", 3.0, "on", 2.35-x)} }},
	{name: "leak-down falls more", most: 2.8, set: func(x float64) []edit { return []edit{change("leak-down", "end", 2.9-x)} }},
	{name: "leak-down shorter", most: 4.9, set: func(x float64) []edit { return []edit{change("leak-down", "time", 5-x)} }},
	{name: "leak test at less", most: 4, set: func(x float64) []edit { return []edit{change("last leak", "pressure", 4.3-x)} }},
	{name: "gas read earlier", most: 200, set: func(x float64) []edit { return []edit{{Entry: "gas", At: fmt.Sprintf("%+ds", int((58-x)*60))}} }},
	{name: "more gas before the opening", most: 20, set: func(x float64) []edit { return []edit{change("gas", "floor", x)} }},
	{name: "more gas at the end", most: 20, set: func(x float64) []edit { return []edit{change("gas when hot", "work", x)} }},
	{name: "pressure when opened", most: 3, set: func(x float64) []edit { return []edit{change("zero", "rail", x)} }},
	{name: "prime slower", most: 8, set: func(x float64) []edit { return []edit{change("prime", "time", 1.8+x)} }},
	{name: "return resists", most: 1, set: func(x float64) []edit { return []edit{change("return", "pressure", 0.15+x)} }},
	{name: "filter resists", most: 1, set: func(x float64) []edit { return []edit{change("filter", "drop", 0.08+x)} }},
	{name: "pump stops later", most: 9, set: func(x float64) []edit { return []edit{change("stop", "time", 1+x)} }},
	{name: "calibration ran out earlier", most: 200, set: func(x float64) []edit {
		return []edit{{Gauge: "PG1", Entry: "calibration", Set: map[string]any{"/due": "2026-" + dueBefore(x)}}}
	}},
	{name: "rail sensor coarser", most: 0.5, coarse: true, set: coarser("PG1", 0.01)},
	{name: "manifold sensor coarser", most: 20, coarse: true, set: coarser("MG1", 0.2)},
	{name: "voltmeter coarser", most: 2, coarse: true, set: coarser("DM1", 0.05)},
}

// dueBefore is a due date so many days before 15 July, as month and day.
func dueBefore(days float64) string {
	day := 195 - int(days)
	month := []int{31, 28, 31, 30, 31, 30, 31}
	for m, n := range month {
		if day < n {
			return fmt.Sprintf("%02d-%02d", m+1, max(day, 0)+1)
		}
		day -= n
	}
	return "07-15"
}

func planSet(field, value, unit string) []edit {
	return []edit{{Entry: "plan", Set: map[string]any{field: map[string]any{"value": value, "unit": unit}}}}
}

// moreEthanol raises the ethanol of the envelope, and the consumption by what
// the blend holds less of energy.
func moreEthanol(x float64) []edit {
	from, err1 := fuel.EthanolBlend(0.10)
	to, err2 := fuel.EthanolBlend(quantity.Fraction(0.10 + x/100))
	if err1 != nil || err2 != nil {
		panic("the blend of 10 to 100 % ethanol is defined")
	}
	consumption := 0.36 * float64(from.HeatingValue) / float64(to.HeatingValue)
	return append(planSet("/envelope/ethanol_max", num(10+x), "%"), planSet("/engine/consumption", num(consumption), "kg/kWh")...)
}

func coarser(gauge string, from float64) func(float64) []edit {
	return func(x float64) []edit {
		return []edit{{Gauge: gauge, Set: map[string]any{"/accuracy/value": num(from + x)}}}
	}
}

// carState is what is found of a car, and the heaviest unanswered severity.
type carState struct {
	worst schema.Severity
	found []schema.Finding
}

func stateOf(t helper, edits []edit) carState {
	t.Helper()
	s := loadBase(t, "clean")
	s.apply(t, edits...)
	b := s.build(t)
	c := carState{found: checklist.Evaluate(b.record, b.shop, b.moment)}
	for _, f := range c.found {
		if f.Answered == "" {
			c.worst = max(c.worst, f.Severity)
		}
	}
	return c
}

// TestWorseNeverImproves makes each input worse step by step, alone.
func TestWorseNeverImproves(t *testing.T) {
	const steps = 15
	for _, in := range inputs {
		t.Run(in.name, func(t *testing.T) {
			t.Parallel()
			first := stateOf(t, in.set(0))
			last := first
			for i := 1; i < steps; i++ {
				next := stateOf(t, in.set(in.most*float64(i)/(steps-1)))
				notBetter(t, in, last, next)
				last = next
			}
			if first.worst > schema.Note || last.worst < schema.Flag {
				t.Errorf("goes from %s to %s: it tries nothing", first.worst, last.worst)
			}
		})
	}
}

// TestWorseNeverImprovesBesideOthers makes an input worse in any state of two
// others.
func TestWorseNeverImprovesBesideOthers(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in := rapid.SampledFrom(inputs).Draw(t, "input")
		var context []edit
		for i := range 2 {
			other := rapid.SampledFrom(inputs).Draw(t, fmt.Sprintf("other %d", i))
			if entryOf(other) != entryOf(in) {
				context = append(context, other.set(rapid.Float64Range(0, other.most).Draw(t, other.name))...)
			}
		}
		x := rapid.Float64Range(0, in.most).Draw(t, "x")
		y := rapid.Float64Range(x, in.most).Draw(t, "worse")
		notBetter(t, in, stateOf(t, append(slices.Clone(context), in.set(x)...)), stateOf(t, append(slices.Clone(context), in.set(y)...)))
	})
}

// notBetter holds that what is after gives nothing lighter than what is before.
func notBetter(t helper, in input, before, after carState) {
	t.Helper()
	least := before.worst
	if in.coarse {
		least = min(least, schema.Unproven)
	}
	if after.worst < least {
		t.Errorf("%s: %s, and worse gives %s\nbefore:%s\nafter:%s", in.name, before.worst, after.worst, told(before.found), told(after.found))
	}
}

// entryOf names what an input changes, so that two do not set the same value.
func entryOf(in input) string {
	e := in.set(0)[0]
	return e.Entry + e.Part + e.Gauge
}

// TestWithoutAReadingNothingIsClean takes every reading that a hold point asks
// for out of the clean record: it must not be possible to sign off.
func TestWithoutAReadingNothingIsClean(t *testing.T) {
	b := loadBase(t, "clean").build(t)
	tests := needed(checklist.Assess(b.record, b.shop, b.moment))
	if len(tests) < 12 {
		t.Fatalf("only %d readings are asked for: %v", len(tests), tests)
	}
	for _, test := range tests {
		t.Run(test, func(t *testing.T) {
			s := loadBase(t, "clean")
			n := len(s.entries)
			s.entries = slices.DeleteFunc(s.entries, func(c *compact) bool { return c.Kind == "reading" && c.Data["test"] == test })
			if len(s.entries) == n {
				t.Fatalf("the clean record has no %s reading", test)
			}
			b := s.build(t)
			a := checklist.Assess(b.record, b.shop, b.moment)
			if why := checklist.CanSignOff(a, "lead-1"); len(why) == 0 {
				t.Errorf("without %s the car can be signed off", test)
			}
		})
	}
}

// needed lists the readings that an applying hold point before the release
// waits for, directly or through a step, and those that rules ask for.
func needed(a checklist.Assessment) []string {
	tests := []string{"gas", "zero", "base", "idle", "leak", "leak-down", "supply"}
	release := map[string]bool{}
	for _, p := range a.Points {
		template, _ := a.Car.Book.Point(p.ID)
		release[p.ID] = p.Release
		if !p.Release {
			tests = append(tests, template.Tests...)
		}
	}
	for _, s := range a.Steps {
		if s.Test != "" && s.Point != "" && !release[s.Point] {
			tests = append(tests, s.Test)
		}
	}
	slices.Sort(tests)
	return slices.Compact(tests)
}

// TestVoidedReadingsDoNotCount takes readings back by a correction instead.
func TestVoidedReadingsDoNotCount(t *testing.T) {
	for _, name := range []string{"base", "leak-down", "supply", "idle", "last leak", "gas", "zero", "hot restart", "prime"} {
		s := loadBase(t, "clean")
		s.apply(t, edit{Add: &compact{Name: "void", Kind: "correct", By: "tech-1", At: "+1610m", Data: map[string]any{"entry": entryID(name), "action": "void", "why": "read off the wrong gauge"}}})
		b := s.build(t)
		if err := b.validate(s); err != nil {
			t.Fatal(err)
		}
		if why := checklist.CanSignOff(checklist.Assess(b.record, b.shop, b.moment), "lead-1"); len(why) == 0 {
			t.Errorf("with %s taken back the car can be signed off", name)
		}
	}
}

// TestATakingBackIsNeverTakenBack: who takes a correction back changes nothing;
// the fact is written again.
func TestATakingBackIsNeverTakenBack(t *testing.T) {
	correct := func(name, entry string) edit {
		return edit{Add: &compact{Name: name, Kind: "correct", By: "tech-1", At: "+1610m", Data: map[string]any{"entry": entry, "action": "void", "why": "it was the other car"}}}
	}
	a := assess(t, "clean", correct("void", "base"), correct("void the void", "void"))
	if why := checklist.CanSignOff(a, "lead-1"); len(why) == 0 {
		t.Error("the reading counts again")
	}
}
