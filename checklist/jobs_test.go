package checklist_test

import (
	"slices"
	"strings"
	"testing"

	"feedproof/checklist"
	"feedproof/checklist/procedures"
	"feedproof/schema"
)

// job is a kind of job done by the book. Changes make a base that car; the
// mechanic does what the program still asks for.
type job struct {
	base    string
	changes []edit
	reads   map[string][]map[string]any // what each test reads on this car, once or by several
}

// jobBases are perfect jobs, one of each kind.
var jobBases = map[string]job{
	"a": {base: "clean"},
	"b": {base: "clean"},
	"c": {base: "clean", changes: slices.Concat(cutTank, hangerPlan), reads: map[string][]map[string]any{
		"tank air": {values(map[string]any{"name": "start", "value": "7.00", "unit": "kPa", "gauge": "WM1"}, map[string]any{"name": "end", "value": "7.00", "unit": "kPa", "gauge": "WM1"},
			map[string]any{"name": "time", "value": "10", "unit": "min"}, map[string]any{"name": "temperature start", "value": "20.0", "unit": "degC", "gauge": "TH1"},
			map[string]any{"name": "temperature end", "value": "20.0", "unit": "degC", "gauge": "TH1"}, map[string]any{"name": "bubble", "seen": "none"})},
		"depth": {values(gauged("depth", "203", "mm", "TM1")), values(gauged("depth", "203", "mm", "TM1"))}, "hanger": {values(gauged("length", "200", "mm", "TM1"))},
	}},
	"d": {base: "clean"},
	"e": {base: "clean", changes: slices.Concat(twoPumps, stagedLog), reads: map[string][]map[string]any{
		"pump alone": {values(gauged("rail", "3.00", "bar", "PG1"), gauged("current", "8.1", "A", "CM1")), values(gauged("rail", "3.00", "bar", "PG1"), gauged("current", "8.2", "A", "CM1"))},
	}},
	"f": {base: "clean"},
	"g": {base: "clean", changes: surgePlan, reads: map[string][]map[string]any{"suction": {values(gauged("inlet", "-0.02", "bar", "PG1"))}}},
	"h": {base: "carburettor"},
	"i": {base: "clean", reads: map[string][]map[string]any{
		"relief":   {values(gauged("stall", "8.00", "bar", "PG1"))},
		"transfer": {values(map[string]any{"name": "volume", "value": "2.0", "unit": "L"}, map[string]any{"name": "time", "value": "60", "unit": "s"})},
	}},
}

// cutTank is a used tank that a professional cleaned, read just before the cut.
var cutTank = []edit{
	{Entry: "vehicle", Set: map[string]any{"/tank": "tag T-17"}},
	{After: "HP2", Add: &compact{Name: "certificate", Kind: "caution", By: "tech-2", At: "+75m", Data: map[string]any{"caution": "K09", "state": "met", "proof": "certificate 58 in the job folder",
		"certificate": map[string]any{"by": "tank cleaner, licence 58", "method": "steam 6 h, flushed with water", "tank": "tag T-17", "at": "2026-03-02T04:30:00Z"}}}},
	{After: "certificate", Add: &compact{Name: "gas in the tank", Kind: "reading", By: "tech-2", At: "+76m", Data: map[string]any{"test": "gas", "values": []any{
		gauged("floor", "0", "% LEL", "GM1"), gauged("work", "0", "% LEL", "GM1"), gauged("tank", "0", "% LEL", "GM1"), gauged("tank", "0", "% LEL", "GM1"),
		map[string]any{"name": "oxygen", "value": "20.8", "unit": "%"}}}}},
	{After: "gas in the tank", Add: &compact{Name: "HP3", Kind: "holdpoint", By: "tech-2", At: "+77m", Data: map[string]any{"point": "HP3", "action": "close", "second": "lead-2"}}},
}

var hangerPlan = []edit{{Entry: "plan", Set: map[string]any{"/tank/gasket": millimetres("3"), "/tank/gap": millimetres("6")}}}

// stagedLog shows stage 2 commanded and answering.
var stagedLog = []edit{{Entry: "log", Set: map[string]any{"/verdicts": []any{
	map[string]any{"id": "S11", "state": "not seen", "text": "+0.02 bar at the command"}, map[string]any{"id": "S12", "state": "not seen", "text": "+3.1 A at the command"}}}}}

// twoPumps are two of the base's pump, and a return wide enough for both.
var twoPumps = []edit{
	{Entry: "plan", Set: map[string]any{"/pumps/count": 2, "/pumps/arrangement": "parallel", "/return/bore/value": "12.5"}},
	{Entry: "flow", Set: map[string]any{"/values/volume/value": "4.20"}},
}

// surgePlan is a surge tank of 2 L that a second pump of the base's kind fills.
var surgePlan = []edit{{Entry: "plan", Set: map[string]any{"/surge": map[string]any{
	"volume": map[string]any{"value": "2", "unit": "L"}, "lift": "pump-1", "pressure": map[string]any{"value": "3.2", "unit": "bar"},
	"voltage": map[string]any{"value": "13.5", "unit": "V"}, "dry": map[string]any{"value": "6", "unit": "s"}, "return_ends": "surge tank"}}}}

func millimetres(mm string) map[string]any { return map[string]any{"value": mm, "unit": "mm"} }

func gauged(name, value, unit, gauge string) map[string]any {
	return map[string]any{"name": name, "value": value, "unit": unit, "gauge": gauge}
}

func values(all ...map[string]any) map[string]any {
	list := make([]any, len(all))
	for i, v := range all {
		list[i] = v
	}
	return map[string]any{"values": list}
}

// jobBase is the base of a kind, with all that the program asks for done.
func jobBase(t helper, kind string) *situation {
	t.Helper()
	j := jobBases[kind]
	s := loadBase(t, j.base)
	s.apply(t, j.changes...)
	s.apply(t, edit{Entry: "visit", Set: map[string]any{"/kinds": []any{kind}}})
	m := mechanic{t, s, j}
	for range 40 {
		if !m.work() {
			return s
		}
	}
	t.Fatalf("kind %s: the work never ends", kind)
	return nil
}

// mechanic does what the program asks for, each thing before the hold point
// that waits for it.
type mechanic struct {
	t helper
	*situation
	job
}

// work does what is asked now; it reports that something was.
func (m mechanic) work() bool {
	b := m.build(m.t)
	a := checklist.Assess(b.record, b.shop, b.moment)
	n := 0
	for _, f := range a.Findings {
		if f.Rule == "X36" && f.Answered == "" { // a step of another kind that the base did
			m.entries = slices.DeleteFunc(m.entries, func(c *compact) bool {
				return c.Kind == "step" && strings.EqualFold("step "+c.Data["step"].(string), f.About)
			})
			n++
		}
	}
	for _, t := range checklist.Tasks(a) {
		switch t.Do {
		case checklist.DoStep:
			m.step(a, t)
		case checklist.DoRead:
			if !m.read(t) {
				continue
			}
		case checklist.DoProve:
			m.before("HP2", compact{Name: t.ID, Kind: "caution", Data: map[string]any{"caution": t.ID, "state": "met", "proof": "looked at it, photo 31 in the job folder", "persons": []any{"tech-1", "tech-2"}}}, false)
		case checklist.DoConfirm:
			m.confirm(t.ID)
		default:
			continue
		}
		n++
	}
	return n > 0
}

// step is done before its hold point; what opens or cuts, while the gas reading
// before it holds.
func (m mechanic) step(a checklist.Assessment, t checklist.Task) {
	i := slices.IndexFunc(a.Steps, func(s checklist.Step) bool { return s.ID == t.ID })
	c := compact{Name: t.ID, Kind: "step", Data: map[string]any{"step": t.ID, "state": "done"}}
	switch opens := a.Steps[i].Opens; {
	case opens == procedures.OpensTankCut && t.Point != "HP3":
		m.after("HP3", c)
	case opens == procedures.OpensFuel || opens == procedures.OpensPressure:
		m.after("HP2", c)
	default:
		m.before(t.Point, c, a.Steps[i].Two)
	}
}

// after writes an entry at the moment of a closing, behind it.
func (m mechanic) after(closing string, c compact) {
	c.By, c.At = "tech-1", m.entries[find(m.t, m.entries, closing)].At
	m.entries = insert(m.t, m.entries, &c, closing)
}

func (m mechanic) read(t checklist.Task) bool {
	for i, data := range m.reads[t.ID] {
		c := compact{Name: t.ID, Kind: "reading", Data: copied(data).(map[string]any)}
		c.Data["test"] = t.ID
		if i > 0 {
			c.Name, c.By = t.ID+" again", "tech-2"
		}
		m.before(t.Point, c, false)
	}
	return len(m.reads[t.ID]) > 0
}

// before writes an entry at the moment of a closing, in front of it.
func (m mechanic) before(point string, c compact, two bool) {
	m.t.Helper()
	i := slices.IndexFunc(m.entries, func(e *compact) bool {
		return e.Kind == "holdpoint" && e.Data["point"] == point && e.Data["action"] == "close"
	})
	if i < 0 {
		m.t.Fatalf("%s: nobody closed %s", c.Name, point)
	}
	if c.By == "" {
		c.By = "tech-1"
	}
	c.At = m.entries[i].At
	if two {
		c.Data["second"] = "tech-2"
	}
	m.entries = slices.Insert(m.entries, i, &c)
	if second := confirming(&c); second != nil {
		m.entries = slices.Insert(m.entries, i+1, second)
	}
}

// confirm lets another person confirm an entry right after it.
func (m mechanic) confirm(id string) {
	i := slices.IndexFunc(m.entries, func(e *compact) bool { return entryID(e.Name) == id })
	e := m.entries[i]
	by := "tech-2"
	if e.By == by {
		by = "tech-1"
	}
	m.entries = slices.Insert(m.entries, i+1, &compact{Name: e.Name + " confirmed", Kind: "confirm", By: by, At: e.At, Data: map[string]any{"entry": id, "saw": "looked at it myself"}})
}

// kinds are all kinds of job that the book knows; each has its perfect job.
func kinds(t helper) []string {
	t.Helper()
	b := loadBase(t, "clean").build(t)
	var all []string
	for _, j := range checklist.Assess(b.record, b.shop, b.moment).Car.Book.Jobs {
		if _, ok := jobBases[string(j.Kind)]; !ok {
			t.Fatalf("job kind %s has no perfect job", j.Kind)
		}
		all = append(all, string(j.Kind))
	}
	return all
}

// TestAPerfectJobIsNotAccused: a job of any kind, done by the book, leaves
// nothing to answer and only the sign-off to do. Source: what the procedures
// ask for, done; from memory.
func TestAPerfectJobIsNotAccused(t *testing.T) {
	for _, kind := range kinds(t) {
		t.Run(kind, func(t *testing.T) {
			s := jobBase(t, kind)
			b := s.build(t)
			if err := b.validate(s); err != nil {
				t.Fatal(err)
			}
			a := checklist.Assess(b.record, b.shop, b.moment)
			for _, f := range a.Findings {
				if f.Severity > schema.Note && f.Answered == "" {
					t.Errorf("%s %s: %s: %s (limit %s) %s", f.Rule, f.Severity, f.About, f.Measured, f.Limit, f.Next)
				}
			}
			for _, p := range a.Points {
				if !p.Release && p.State != checklist.PointClosed {
					t.Errorf("%s is %s: %s", p.ID, p.State, p.Why)
				}
			}
			for _, f := range checklist.CanSignOff(a, "lead-1") {
				t.Errorf("a lead may not sign: %s %s: %s", f.Rule, f.About, f.Measured)
			}
		})
	}
}
