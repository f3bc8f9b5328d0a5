package checklist_test

import (
	"strings"
	"testing"

	"feedproof/checklist"
	"feedproof/schema"
)

func assess(t helper, base string, edits ...edit) checklist.Assessment {
	t.Helper()
	s := loadBase(t, base)
	s.apply(t, edits...)
	b := s.build(t)
	if err := b.validate(s); err != nil {
		t.Fatal(err)
	}
	return checklist.Assess(b.record, b.shop, b.moment)
}

// late is an entry of the car after all others, written on another machine.
func late(name, kind, by string, data map[string]any) edit {
	return edit{Add: &compact{Name: name, Kind: kind, By: by, At: "+1612m", Device: "bay-3", Data: data}}
}

func closing(point, by, second string) edit {
	data := map[string]any{"point": point, "action": "close"}
	if second != "" {
		data["second"] = second
	}
	return late(point+" again", "holdpoint", by, data)
}

func moved(name, after string) []edit {
	return []edit{{Entry: name, Remove: true}, {After: after, Add: &compact{
		Name: name, Kind: "holdpoint", By: "tech-1", At: "+240m", Data: map[string]any{"point": name, "action": "close", "second": "tech-2"}}}}
}

// TestHoldPointStates: a point that guards an act is proven only before it, and
// what changes afterwards opens it again on whichever machine it was written.
func TestHoldPointStates(t *testing.T) {
	t.Parallel()
	fit := func(position string) edit {
		return late("fitted", "fit", "tech-1", map[string]any{"position": position, "why_none": "kept from the car"})
	}
	out := late("out", "remove", "tech-1", map[string]any{"position": "pump", "why": "to look at it"})
	for _, c := range []struct {
		name  string
		edits []edit
		point string
		want  checklist.PointState
		why   string
	}{
		{"nothing changed", nil, "HP5", checklist.PointClosed, ""},
		{"closed after the opening", moved("HP2", "b4"), "HP2", checklist.PointNotProven, "the opening came first"},
		{"closed in time but typed in late", []edit{{Entry: "HP2", Set: map[string]any{"/late": "from paper sheet 12"}}}, "HP2", checklist.PointNotProven, "the opening came first"},
		{"no closing at all", []edit{{Entry: "HP2", Remove: true}}, "HP2", checklist.PointNotProven, "the opening came first"},
		{"closed after the first start", moved("HP5", "idle"), "HP5", checklist.PointNotProven, "the engine ran before it was closed"},
		{"recorded late", []edit{{Entry: "HP5", Set: map[string]any{"/late": "from memory"}}}, "HP5", checklist.PointNotProven, "recorded late"},
		{"recorded late where that may be", []edit{{Entry: "HP4", Set: map[string]any{"/late": "from paper"}}}, "HP4", checklist.PointClosed, ""},
		{"one person for two", []edit{{Entry: "HP5", Unset: []string{"/second"}}, {Entry: "HP5 confirmed", Remove: true}}, "HP5", checklist.PointNotProven, "one person"},
		{"the same person twice", []edit{{Entry: "HP9", Set: map[string]any{"/second": "tech-1"}}, {Entry: "HP9 confirmed", Remove: true}}, "HP9", checklist.PointNotProven, "one person"},
		{"opened again", openedAgain(), "HP5", checklist.PointReopened, "feed at the rail was opened after it"},
		{"opened again, HP9", openedAgain(), "HP9", checklist.PointReopened, "feed at the rail was opened after it"},
		{"opened again, HP2 holds", openedAgain(), "HP2", checklist.PointClosed, ""},
		{"opened again without closing HP2", openedAgain(edit{Entry: "HP2 late", Remove: true}), "HP2", checklist.PointNotProven, "the opening came first"},
		{"pump fitted", []edit{fit("pump")}, "HP5", checklist.PointReopened, "pump changed after it"},
		{"injectors fitted", []edit{fit("injectors")}, "HP5", checklist.PointReopened, "injectors changed after it"},
		{"regulator fitted", []edit{fit("regulator")}, "HP6", checklist.PointReopened, "regulator changed after it"},
		{"filter fitted", []edit{fit("filter")}, "HP7", checklist.PointReopened, "filter changed after it"},
		{"wiring changed", []edit{fit("wiring")}, "HP4", checklist.PointReopened, "wiring changed after it"},
		{"pump taken out", []edit{out}, "HP7", checklist.PointReopened, "pump changed after it"},
		{"module fitted", []edit{fit("module")}, "HP9", checklist.PointReopened, "module changed after it"},
		{"re-opened by hand", []edit{late("again", "holdpoint", "lead-1", map[string]any{"point": "HP8", "action": "reopen", "why": "smelled it"})}, "HP8", checklist.PointOpen, ""},
		{"re-opened and closed", []edit{late("again", "holdpoint", "lead-1", map[string]any{"point": "HP8", "action": "reopen"}), closing("HP8", "tech-1", "")}, "HP8", checklist.PointClosed, ""},
		{"a reading taken back", []edit{{Entry: "hot restart", Remove: true}}, "HP8", checklist.PointReopened, "reading: hot restart"},
		{"a step taken back", []edit{{Entry: "H9", Remove: true}}, "HP6", checklist.PointReopened, "step H9"},
	} {
		t.Run(c.name, func(t *testing.T) {
			for _, p := range assess(t, "clean", c.edits...).Points {
				if p.ID != c.point {
					continue
				}
				if p.State != c.want || !strings.Contains(p.Why, c.why) || (c.why == "") != (p.Why == "") {
					t.Errorf("%s is %s (%s), want %s (%s)", p.ID, p.State, p.Why, c.want, c.why)
				}
				return
			}
			t.Errorf("%s does not apply", c.point)
		})
	}
}

// TestWhoMayClose asks of each point who may close it, and when.
func TestWhoMayClose(t *testing.T) {
	t.Parallel()
	fresh := openedAgain()[:2] // gas and zero read just now
	for _, c := range []struct {
		name              string
		edits             []edit
		point, by, second string
		want              string // part of the refusal; empty: may
	}{
		{"all is there", fresh, "HP2", "tech-1", "", ""},
		{"a lead may", fresh, "HP2", "lead-1", "", ""},
		{"not a technician", fresh, "HP2", "tech-2", "", "a fuel technician is asked for"},
		{"not stores", fresh, "HP2", "stores-1", "", "a fuel technician is asked for"},
		{"not a stranger", fresh, "HP2", "nobody", "", "not in the shop's roster"},
		{"gas too old", nil, "HP2", "tech-1", "", "K01"},
		{"pump ran since", nil, "HP2", "tech-1", "", "K05"},
		{"with two", nil, "HP5", "tech-1", "tech-2", ""},
		{"alone", nil, "HP5", "tech-1", "", "two persons are asked for"},
		{"with oneself", nil, "HP5", "tech-1", "tech-1", "two persons are asked for"},
		{"with a stranger", nil, "HP5", "tech-1", "nobody", "nobody is not in the shop"},
		{"with the storekeeper", nil, "HP5", "tech-1", "stores-1", "stores-1 is stores"},
		{"base pressure missing", []edit{{Entry: "base", Remove: true}}, "HP5", "tech-1", "tech-2", "base"},
		{"base pressure out", []edit{change("base", "rail", 3.3)}, "HP5", "tech-1", "tech-2", "L06"},
		{"a tuner", nil, "HP7", "tuner-1", "", ""},
		{"a technician for a tuner", nil, "HP7", "tech-1", "", "a tuner is asked for"},
		{"hot work is nobody's by rank", nil, "HP3", "lead-1", "tech-1", "a hot work is asked for"},
		{"the plan is the lead's", nil, "HP0", "tech-1", "", "a lead is asked for"},
		{"release", nil, "HP10", "lead-1", "", "closed by the sign-off itself"},
		{"no such point", nil, "HP99", "lead-1", "", "not a hold point"},
	} {
		t.Run(c.name, func(t *testing.T) {
			why := told(checklist.CanClose(assess(t, "clean", c.edits...), c.point, c.by, c.second))
			if c.want == "" && why != "" || !strings.Contains(why, c.want) {
				t.Errorf("%s by %s with %q: want %q, got %s", c.point, c.by, c.second, c.want, why)
			}
		})
	}
}

// TestWhoMaySign: a lead who did not do the work, and only when nothing is open.
func TestWhoMaySign(t *testing.T) {
	t.Parallel()
	oneFlag := change("supply", "source", 13.95, "pump", 13.40)
	acknowledged := late("seen", "acknowledge", "lead-2", map[string]any{"rule": "L10", "subject": "supply", "code": "outside", "values": lostVolts("0.55"), "why": "old loom, owner knows"})
	other := late("seen", "acknowledge", "lead-2", map[string]any{"rule": "L10", "subject": "supply", "code": "outside", "values": lostVolts("0.5"), "why": "old loom, owner knows"})
	for _, c := range []struct {
		name   string
		edits  []edit
		person string
		want   string
	}{
		{"a lead", nil, "lead-1", ""},
		{"a technician", nil, "tech-2", "is not a lead"},
		{"nobody we know", nil, "nobody", "is not a lead"},
		{"a lead who took a reading", []edit{{Entry: "base", By: "lead-1"}}, "lead-1", "worked on this car"},
		{"a lead who fitted a part", []edit{{Entry: "pump", By: "lead-1"}}, "lead-1", "worked on this car"},
		{"a lead who took a part out", []edit{{Entry: "pump out", By: "lead-1"}}, "lead-1", "worked on this car"},
		{"a lead who ticked a step", []edit{{Entry: "B1", By: "lead-1"}}, "lead-1", "worked on this car"},
		{"another lead then", []edit{{Entry: "B1", By: "lead-1"}}, "lead-2", ""},
		{"an open FLAG", []edit{oneFlag}, "lead-1", "L10 FLAG"},
		{"a FLAG that was acknowledged", []edit{oneFlag, acknowledged}, "lead-1", ""},
		{"acknowledged when it was another value", []edit{oneFlag, other}, "lead-1", "L10 FLAG"},
		{"a HOLD is not acknowledged away", []edit{change("supply", "source", 14.6, "pump", 13.4), late("seen", "acknowledge", "lead-2", map[string]any{"rule": "L10", "subject": "supply", "code": "outside", "values": lostVolts("1.2"), "why": "old loom"})}, "lead-1", "L10 HOLD"},
		{"something not proven", []edit{{Entry: "base", Set: map[string]any{"/conditions/hose": "on"}}}, "lead-1", "L06 UNPROVEN"},
		{"a hold point open", []edit{{Entry: "HP8", Remove: true}}, "lead-1", "HP8: open"},
		{"no visit", []edit{{Entry: "visit", Remove: true}}, "lead-1", "no visit is open"},
	} {
		t.Run(c.name, func(t *testing.T) {
			why := told(checklist.CanSignOff(assess(t, "clean", c.edits...), c.person))
			if c.want == "" && why != "" || !strings.Contains(why, c.want) {
				t.Errorf("%s: want %q, got %s", c.person, c.want, why)
			}
		})
	}
}

// neverWaived is the trade's never-waive list as far as rules and cautions of
// the book stand for it. Source: common practice.
var neverWaived = []string{
	"K09",         // cutting a used tank without certificate and own readings
	"K01",         // opening without a working, bumped meter
	"K20",         // a known leak
	"K05",         // opening under pressure
	"K04",         // no extinguisher
	"K13",         // on a jack alone
	"K06",         // battery live with the tank open
	"L12",         // unfused, or fuse over the wire
	"L25",         // a pump that does not stop
	"K26",         // a hose not for use in fuel
	"K28",         // injection pump straight on a carburettor
	"L01", "L01e", // shortage of fuel
	"V-06", // no leak test after the last opened joint
	"K24",  // release with a smell of fuel
}

// TestTheNeverWaiveListHasNoPath gives every finding of every scenario the best
// waiver there is, and an acknowledgement: those of the list, a BLOCK, a STOP
// and an UNPROVEN of a rule stay open.
func TestTheNeverWaiveListHasNoPath(t *testing.T) {
	t.Parallel()
	tried := map[string]int{}
	for _, sc := range loadScenarios(t) {
		if sc.Refused != "" {
			continue
		}
		s := sc.situation(t)
		b := s.build(t)
		for i, f := range checklist.Evaluate(b.record, b.shop, b.moment) {
			if f.Severity > schema.Note {
				s.apply(t, answers(i, f)...)
			}
		}
		b = s.build(t)
		if err := b.validate(s); err != nil {
			t.Fatal(err)
		}
		for _, f := range checklist.Evaluate(b.record, b.shop, b.moment) {
			listed := contains(neverWaived, f.Rule) && f.Severity >= schema.Unproven
			if listed || f.Severity >= schema.Block {
				tried[f.Rule]++
				if f.Answered != "" {
					t.Errorf("%s: answered away:%s", sc.ID, told([]schema.Finding{f}))
				}
			}
		}
	}
	for _, rule := range []string{"K01", "K05", "K20", "L01", "L12", "V-06"} {
		if tried[rule] == 0 {
			t.Errorf("no scenario tries to waive %s", rule)
		}
	}
	a := assess(t, "clean")
	for _, rule := range neverWaived {
		f := schema.Finding{Rule: rule, Severity: schema.Hold, About: "it", Measured: "1", Limit: "0"}
		if why := checklist.WaiverTrouble(a.Car, f, "lead-2", bestWaiver(f)); !strings.Contains(strings.Join(why, ";"), "never waived") {
			t.Errorf("%s can be waived: %v", rule, why)
		}
	}
}

func answers(i int, f schema.Finding) []edit {
	w := bestWaiver(f)
	name := string(rune('a'+i%26)) + strings.Repeat("x", i/26)
	return []edit{
		late("waiver "+name, "waive", "lead-2", map[string]any{"rule": w.Rule, "subject": w.Subject, "code": string(w.Code), "values": amounts(w.Values), "why": w.Why, "measure": w.Measure, "expires": w.Expires, "informed": "yes"}),
		late("acknowledged "+name, "acknowledge", "lead-2", map[string]any{"rule": w.Rule, "subject": w.Subject, "code": string(w.Code), "values": amounts(w.Values), "why": w.Why}),
	}
}

func lostVolts(v string) []any { return amounts([]schema.Amount{{Name: "lost", Value: v, Unit: "V"}}) }

// amounts are values as an entry of a test writes them.
func amounts(values []schema.Amount) []any {
	out := []any{}
	for _, v := range values {
		m := map[string]any{"name": v.Name, "value": v.Value}
		if v.Unit != "" {
			m["unit"] = v.Unit
		}
		if v.U != "" {
			m["u"] = v.U
		}
		out = append(out, m)
	}
	return out
}

func bestWaiver(f schema.Finding) schema.WaiveData {
	return schema.WaiveData{
		Rule: f.Rule, Subject: f.Subject, Code: f.Code, Values: f.Values, Limits: f.Limits, Measure: "boost limited until then", Expires: "2026-12-31", Informed: schema.Yes,
		Why: "one two three four five six seven eight nine ten eleven twelve thirteen fourteen fifteen",
	}
}

func contains(list []string, s string) bool {
	for _, x := range list {
		if x == s {
			return true
		}
	}
	return false
}

// TestWaiverTrouble takes one thing off the best waiver at a time.
func TestWaiverTrouble(t *testing.T) {
	a := assess(t, "clean", edit{Entry: "B1", By: "lead-1"})
	f := schema.Finding{Rule: "L10", Severity: schema.Hold, About: "it", Measured: "1.2 V", Limit: "0.5 V"}
	for _, c := range []struct {
		name   string
		by     string
		change func(*schema.Finding, *schema.WaiveData)
		want   string
	}{
		{"the best", "lead-2", func(*schema.Finding, *schema.WaiveData) {}, ""},
		{"a technician", "tech-1", func(*schema.Finding, *schema.WaiveData) {}, "is not a lead"},
		{"who did the work", "lead-1", func(*schema.Finding, *schema.WaiveData) {}, "worked on this car"},
		{"14 words", "lead-2", func(_ *schema.Finding, w *schema.WaiveData) { w.Why = strings.TrimSuffix(w.Why, " fifteen") }, "too short"},
		{"no measure", "lead-2", func(_ *schema.Finding, w *schema.WaiveData) { w.Measure = " " }, "no compensating measure"},
		{"customer not asked", "lead-2", func(_ *schema.Finding, w *schema.WaiveData) { w.Informed = schema.NotKnown }, "not informed"},
		{"no date", "lead-2", func(_ *schema.Finding, w *schema.WaiveData) { w.Expires = "soon" }, "cannot be read"},
		{"out", "lead-2", func(_ *schema.Finding, w *schema.WaiveData) { w.Expires = "2026-03-01" }, "it expired on 2026-03-01"},
		{"today still", "lead-2", func(_ *schema.Finding, w *schema.WaiveData) { w.Expires = "2026-03-03" }, ""},
		{"a BLOCK", "lead-2", func(f *schema.Finding, _ *schema.WaiveData) { f.Severity = schema.Block }, "never waived"},
		{"an UNPROVEN", "lead-2", func(f *schema.Finding, _ *schema.WaiveData) { f.Severity = schema.Unproven }, "never waived"},
		{"a caution that names nobody", "lead-2", func(f *schema.Finding, _ *schema.WaiveData) { f.Rule, f.Severity = "K02", schema.Unproven }, "never waived"},
		{"a caution that names the lead", "lead-2", func(f *schema.Finding, _ *schema.WaiveData) { f.Rule, f.Severity = "K14", schema.Unproven }, ""},
		{"no rule at all", "lead-2", func(f *schema.Finding, _ *schema.WaiveData) { f.Rule = "Z1" }, "never waived"},
	} {
		f, w := f, bestWaiver(f)
		c.change(&f, &w)
		got := strings.Join(checklist.WaiverTrouble(a.Car, f, c.by, w), "; ")
		if c.want == "" && got != "" || !strings.Contains(got, c.want) {
			t.Errorf("%s: want %q, got %q", c.name, c.want, got)
		}
	}
}
