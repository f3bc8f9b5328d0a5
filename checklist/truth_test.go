package checklist_test

import (
	"strings"
	"testing"

	"feedproof/checklist"
	"feedproof/schema"
)

// apartCase is a car whose base was written by bay-2, and what other bays wrote
// having seen a part of it.
type apartCase struct {
	t     *testing.T
	s     *situation
	built built
	all   []schema.Entry
}

func apartFrom(t *testing.T, base string) *apartCase {
	s := loadBase(t, base)
	b := s.build(t)
	return &apartCase{t, s, b, b.record.Entries}
}

// upTo are the entries up to one by name, as a bay knows them that was last
// synced then.
func (c *apartCase) upTo(name string) []schema.Entry {
	for i, e := range c.all {
		if e.ID == entryID(name) {
			return c.all[:i+1]
		}
	}
	c.t.Fatalf("there is no entry %s", name)
	return nil
}

// writes adds what a bay writes that knows some of the entries.
func (c *apartCase) writes(device string, knows []schema.Entry, kind string, data map[string]any) schema.Entry {
	c.t.Helper()
	e := written(c.t, c.s, device, &compact{Kind: kind, Data: data}, knows, len(c.all))
	c.all = append(c.all[:len(c.all):len(c.all)], e)
	return e
}

func (c *apartCase) assess(elsewhere ...schema.Entry) checklist.Assessment {
	shop := c.built.shop
	shop.Elsewhere = elsewhere
	return checklist.Assess(schema.NewRecord(schema.VehicleRecord, "car").With(c.all...), shop, c.built.moment)
}

func openOf(a checklist.Assessment, rule string) (schema.Finding, bool) {
	for _, f := range a.Findings {
		if f.Rule == rule && f.Answered == "" {
			return f, true
		}
	}
	return schema.Finding{}, false
}

// released is the clean car with its sign-off, in the visit it was signed in.
func released(t *testing.T) *apartCase {
	c := apartFrom(t, "rechecked")
	c.all = c.upTo("sign-off")
	if _, ok := c.assess().Standing.Released(); !ok {
		t.Fatal("the signed car is not released")
	}
	return c
}

// TestALeakIsNotOutvoted: a bay that was a day behind sees a wet joint. It holds
// until a leak test that saw it, whatever was signed meanwhile. Source: common
// practice (a joint seen wet leaks until it was tested dry again).
func TestALeakIsNotOutvoted(t *testing.T) {
	c := released(t)
	signed := c.all
	c.writes("bay-3", c.upTo("HP9"), "reading", leakOf("wet"))
	a := c.assess()
	if f, ok := openOf(a, "K20"); !ok || f.Severity != schema.Stop {
		t.Error("no STOP for the wet joint")
	}
	if _, ok := a.Standing.Released(); ok || !a.Standing.FuelOpen || a.Standing.Stop == nil || len(a.Standing.Unseen) != 1 {
		t.Errorf("stands %+v", a.Standing)
	}
	if len(checklist.CanSignOff(a, "lead-1")) == 0 {
		t.Error("a lead can sign over it")
	}
	c.writes("bay-2", signed, "reading", leakOf("dry")) // did not see the wet one
	if _, ok := openOf(c.assess(), "K20"); !ok {
		t.Error("a test that did not know of the leak clears it")
	}
	c.writes("bay-2", c.all, "reading", leakOf("dry"))
	if _, ok := openOf(c.assess(), "K20"); ok {
		t.Error("a test that saw the leak does not clear it")
	}
}

// TestAnOpeningElsewhereOpensTheFuel: a joint opened by a bay that did not know
// of the release leaves no bay at closed and released.
func TestAnOpeningElsewhereOpensTheFuel(t *testing.T) {
	c := released(t)
	c.writes("bay-3", c.upTo("HP5"), "step", map[string]any{"step": "b4", "state": "done", "joint": "rail"})
	a := c.assess()
	if _, ok := a.Standing.Released(); ok || !a.Standing.FuelOpen || len(a.Standing.Joints) == 0 {
		t.Errorf("stands %+v", a.Standing)
	}
}

// TestADraftElsewhereCountsForTheBad: what another bay has not committed yet
// stops a sign-off, and proves nothing.
func TestADraftElsewhereCountsForTheBad(t *testing.T) {
	c := apartFrom(t, "clean")
	committed := c.all
	wet := c.writes("bay-3", c.all, "reading", leakOf("wet"))
	dry := c.writes("bay-3", c.all, "reading", leakOf("dry"))
	c.all = committed
	f, ok := openOf(c.assess(wet), "K20")
	if !ok || f.Severity != schema.Stop || !strings.Contains(f.Measured, "not committed yet, bay-3") {
		t.Errorf("a wet joint in a draft elsewhere: %v %+v", ok, f)
	}
	if len(checklist.CanSignOff(c.assess(wet), "lead-1")) == 0 {
		t.Error("a lead can sign over a draft elsewhere")
	}
	c.all = append(committed[:len(committed):len(committed)], wet)
	if _, ok := openOf(c.assess(dry), "K20"); !ok {
		t.Error("a dry test that is not committed clears a leak")
	}
}

// TestTwoSignOffsUseTheNarrower: two leads who did not know of each other.
func TestTwoSignOffsUseTheNarrower(t *testing.T) {
	c := released(t)
	first, _ := c.assess().Standing.Released()
	statement := copied(c.s.entries[find(t, c.s.entries, "sign-off")].Data).(map[string]any)
	set(t, statement, "/statement/envelope/power/value", "250")
	set(t, statement, "/statement/recheck", "2026-03-10")
	c.writes("bay-3", c.upTo("HP9"), "signoff", statement)
	both, ok := c.assess().Standing.Released()
	if !ok || both.Data.Statement.Envelope.Power.String() != "250 kW" || both.Data.Statement.Recheck > first.Data.Statement.Recheck {
		t.Errorf("released %v under %v, re-check %s", ok, both.Data.Statement.Envelope.Power, both.Data.Statement.Recheck)
	}
}

// TestWhatSlidesInUnderASignOff: an entry with an early time that the sign-off
// has not seen is no part of what it knew.
func TestWhatSlidesInUnderASignOff(t *testing.T) {
	c := released(t)
	c.writes("bay-3", c.upTo("HP1"), "incident", map[string]any{"what": "fire at the rail", "severity": "serious", "injury": "no"})
	a := c.assess()
	if _, ok := a.Standing.Released(); ok {
		t.Error("released over a fire that nobody knew of")
	}
	if _, ok := openOf(a, "X39"); !ok {
		t.Error("nobody is told of the fire")
	}
}

// TestDoubtedHands: what is good in an entry that is not proven does not count,
// and it is said.
func TestDoubtedHands(t *testing.T) {
	c := apartFrom(t, "clean")
	r := schema.NewRecord(schema.VehicleRecord, "car").With(c.all...)
	r.Doubts = map[string]string{entryID("last leak"): "the signature does not fit"}
	a := checklist.Assess(r, c.built.shop, c.built.moment)
	if f, ok := openOf(a, "X38"); !ok || f.Severity != schema.Unproven {
		t.Error("nobody says that the hand is doubted")
	}
	if len(checklist.CanSignOff(a, "lead-1")) == 0 {
		t.Error("a lead can sign on a leak test of an unproven hand")
	}
}

// TestLateEvidence: a proof that was typed after the act is of the second
// class, whichever of the two was late. Source: common practice.
func TestLateEvidence(t *testing.T) {
	gasLate := []edit{{Entry: "gas", Remove: true}, {Add: &compact{Name: "gas", Kind: "reading", By: "tech-1", At: "+58m", Entered: "+100m", Data: baseData(t, "gas")}, After: "lock ring"}}
	openingLate := []edit{{Entry: "b4", Remove: true}, {Add: &compact{Name: "b4", Kind: "step", By: "tech-1", At: "+88m", Entered: "+1595m", Data: baseData(t, "b4")}, After: "surface when cold"},
		{Add: &compact{Name: "leak once more", Kind: "reading", By: "tech-1", At: "+1598m", Data: baseData(t, "last leak")}, After: "b4"}}
	for name, test := range map[string]struct {
		edits []edit
		rule  string
		says  string
	}{
		"gas typed late":         {gasLate, "K01", "written 24 min after the act"},
		"opening typed late":     {openingLate, "K05", "written 1507 min after the act"},
		"gas read after the act": {[]edit{{Entry: "gas", Remove: true}, {Add: &compact{Name: "gas", Kind: "reading", By: "tech-1", At: "+99m", Data: baseData(t, "gas")}, After: "lock ring"}}, "K01", ""},
	} {
		t.Run(name, func(t *testing.T) {
			f, ok := openOf(assess(t, "clean", test.edits...), test.rule)
			late := strings.Contains(f.Measured, "written")
			if !ok || f.Severity != schema.Flag || late != (test.says != "") || !strings.Contains(f.Measured, test.says) {
				t.Errorf("%v %s %s", ok, f.Severity, f.Measured)
			}
		})
	}
}

// baseData is the data of an entry of the clean base.
func baseData(t *testing.T, name string) map[string]any {
	s := loadBase(t, "clean")
	return copied(s.entries[find(t, s.entries, name)].Data).(map[string]any)
}

// TestAnActRecordedAgain: an opening that was taken back and recorded again
// after its proof is asked about.
func TestAnActRecordedAgain(t *testing.T) {
	early := edit{Add: &compact{Name: "too early", Kind: "step", By: "tech-1", At: "+30m", Data: baseData(t, "b4")}, After: "A10"}
	back := edit{Add: &compact{Name: "back", Kind: "correct", By: "tech-1", At: "+31m", Data: map[string]any{"entry": entryID("too early"), "action": "void", "why": "typed on the wrong car"}}, After: "too early"}
	if f, ok := openOf(assess(t, "clean", early, back), "X40"); !ok || f.Severity != schema.Flag {
		t.Error("nobody asks when it was done")
	}
	if _, ok := openOf(assess(t, "clean"), "X40"); ok {
		t.Error("the clean car is asked about")
	}
}
