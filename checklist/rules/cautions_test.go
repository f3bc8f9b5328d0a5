package rules

import (
	"strings"
	"testing"
	"time"

	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/code"
	"feedproof/schema/quantity"
)

func opened(joint string) schema.StepData {
	return schema.StepData{Step: "B12", State: schema.StepDone, Joint: joint}
}

var meter = &schema.GaugeSnapshot{Gauge: "GM1", Due: "2027-01-01", Factor: "2", Sensor: "catalytic", Bumped: "2026-03-02T07:00:00Z"}

func gas(values ...schema.Value) schema.ReadingData { return reading("gas", values...) }

func lel(name, value string) schema.Value {
	return schema.Value{Name: name, Value: value, Unit: "% LEL", Gauge: meter}
}

// TestMaterials: what ethanol attacks. Source: the trade's caution on ethanol
// and its never-waive list (hose and diaphragm unknown), common practice.
func TestMaterials(t *testing.T) {
	for _, c := range []struct {
		position string
		kind     schema.PartKind
		ethanol  schema.Answer
		papers   string
		media    string
		want     schema.Severity
	}{
		{"rail", "rail", schema.Yes, "sheet 1", "", schema.OK},
		{"rail", "rail", schema.Yes, "", "", schema.Flag},
		{"rail", "rail", schema.Unknown, "sheet 1", "", schema.Hold},
		{"rail", "rail", "", "sheet 1", "", schema.Hold},
		{"rail", "rail", schema.No, "sheet 1", "", schema.Block},
		{"injectors", "injector", schema.Unknown, "", "", schema.Hold},
		{"filter", "filter", schema.Yes, "sheet 1", "Paper", schema.Block},
		{"filter", "filter", schema.Yes, "sheet 1", "bonded cellulose", schema.Block},
		{"filter", "filter", schema.Yes, "sheet 1", "woven steel", schema.OK},
		{"feed", "hose", schema.Unknown, "", "", schema.Block},
		{"main", "pump", schema.Unknown, "", "", schema.Block},
		{"on the rail", "regulator", schema.Unknown, "", "", schema.Block},
		{"return hose", "other", schema.Unknown, "", "", schema.Block},
		{"lift pump", "other", schema.Unknown, "", "", schema.Block},
		{"feed line", "other", schema.Unknown, "", "", schema.Block},
		{"regulator", "other", schema.Unknown, "", "", schema.Block},
		{"damper", "other", schema.Unknown, "", "", schema.Block},
		{"wiring", "other", schema.Unknown, "", "", schema.OK},
		{"harness", "wire", schema.Unknown, "", "", schema.OK},
		{"pump relay", "relay", schema.Unknown, "", "", schema.OK},
		{"pump fuse", "fuse", schema.Unknown, "", "", schema.OK},
	} {
		part := &schema.PartData{Part: c.kind, Ethanol: c.ethanol, Papers: c.papers}
		if c.media != "" {
			part.Filter = &schema.FilterData{Media: c.media}
		}
		if got := material(c.position, state.Fitted{Part: part}).Severity; got != c.want {
			t.Errorf("%s, %s, fit %q, papers %q, media %q: %s, want %s", c.position, c.kind, c.ethanol, c.papers, c.media, got, c.want)
		}
	}
	if got := material("injectors", state.Fitted{}).Severity; got != schema.Hold {
		t.Errorf("a part without a record: %s, want HOLD", got)
	}
}

// TestBeforeTheOnlyOpening: one opening counts like the last of several.
func TestBeforeTheOnlyOpening(t *testing.T) {
	s := func() *story { return tell(t).add(0, visit(schema.OpenVisit, "1", 1)) }
	clean := gas(lel("floor", "0"), lel("work", "0"), lel("cabin", "0"))
	s().add(time.Minute, clean).add(2*time.Minute, opened("rail")).wants(day, "K24", schema.Unproven)
	s().add(time.Minute, opened("rail")).add(2*time.Minute, clean).wants(day, "K24", schema.OK)
	s().add(time.Minute, opened("rail")).wants(day, "V-06", schema.Block)
	s().wants(day, "V-06", schema.OK)
	if found := s().add(time.Minute, gas(lel("floor", "1"), lel("work", "0"))).add(2*time.Minute, opened("rail")).at(day, "K01"); len(found) != 1 || found[0].Severity != schema.Hold {
		t.Errorf("2 %% LEL before the only opening: %v", found)
	}
	for joint, asked := range map[string]schema.Severity{"tank": schema.Stop, "module": schema.Stop, "rail": schema.OK} {
		s().add(time.Minute, opened(joint)).wants(day, "K06", asked)
	}
}

// TestReadyToOpen: what the screens ask before a joint is opened is what the
// rules will ask of the opening.
func TestReadyToOpen(t *testing.T) {
	rail := schema.Value{Name: "rail", Value: "0.00", Unit: "bar", Gauge: &schema.GaugeSnapshot{Gauge: "PG1", Due: "2027-01-01"}}
	for _, c := range []struct {
		what  string
		floor string
		zero  string
		want  map[string]schema.Severity
	}{
		{"nothing read", "", "", map[string]schema.Severity{"K01": schema.Stop, "K05": schema.Stop}},
		{"all read", "0", "0.00", map[string]schema.Severity{}},
		{"2 % LEL", "1", "0.00", map[string]schema.Severity{"K01": schema.Hold}},
		{"6 % LEL", "3", "0.00", map[string]schema.Severity{"K01": schema.Stop}},
		{"0.3 bar", "0", "0.30", map[string]schema.Severity{"K05": schema.Stop}},
	} {
		s := tell(t).add(0, visit(schema.OpenVisit, "1", 1))
		if c.floor != "" {
			rail.Value = c.zero
			s.add(time.Minute, gas(lel("floor", c.floor), lel("work", "0"))).add(2*time.Minute, reading("zero", rail))
		}
		got := map[string]schema.Severity{}
		for _, f := range ReadyToOpen(state.Fold(state.Told(s.record), schema.Shop{}, epoch.Add(10*time.Minute))) {
			got[f.Rule] = f.Severity
		}
		if len(got) != len(c.want) || got["K01"] != c.want["K01"] || got["K05"] != c.want["K05"] {
			t.Errorf("%s: %v, want %v", c.what, got, c.want)
		}
	}
}

// TestBeside: a log that proves nothing leaves the word to the reading by hand;
// one that proves takes the place of a reading that proves nothing, and never
// that of one that finds fault.
func TestBeside(t *testing.T) {
	f := func(s schema.Severity, measured string) []schema.Finding {
		return []schema.Finding{{Severity: s, Measured: measured, Code: map[string]code.Code{NotYet: code.Missing}[measured]}}
	}
	proves, nothing := f(schema.OK, "log"), f(schema.Unproven, "log")
	for _, c := range []struct {
		what      string
		log, hand []schema.Finding
		replaces  bool
		want      int
		worst     schema.Severity
	}{
		{"neither", nil, nil, true, 0, schema.OK},
		{"an unproven log alone", nothing, nil, true, 1, schema.Unproven},
		{"an unproven log beside a good reading", nothing, f(schema.OK, "hand"), true, 1, schema.OK},
		{"no log", nil, f(schema.Hold, "hand"), true, 1, schema.Hold},
		{"a log for a coarse reading", proves, f(schema.Unproven, "hand"), false, 1, schema.OK},
		{"a log for a reading that was not made", proves, f(schema.Unproven, NotYet), true, 1, schema.OK},
		{"a log that cannot replace one that was not made", proves, f(schema.Unproven, NotYet), false, 2, schema.Unproven},
		{"a log beside a bad reading", proves, f(schema.Hold, "hand"), true, 2, schema.Hold},
	} {
		got := beside(c.log, c.hand, c.replaces)
		worst := schema.OK
		for _, f := range got {
			worst = max(worst, f.Severity)
		}
		if len(got) != c.want || worst != c.worst {
			t.Errorf("%s: %v", c.what, got)
		}
	}
}

// TestACoarseInstrumentIsNotCalledLean: what the instrument alone leaves open is
// said of the instrument. Source: guard band of JCGM 106:2012, from memory.
func TestACoarseInstrumentIsNotCalledLean(t *testing.T) {
	for _, c := range []struct {
		x, u float64
		want code.Code
	}{
		{0.01, 0.001, code.Within},
		{0.01, 0.012, code.Roughly}, // within, u over a third of the limit
		{0.02, 0.04, code.Coarse},
		{0.04, 0.001, code.Lean},
		{0.09, 0.001, code.Lean},
	} {
		if f := weigh(schema.Finding{Code: code.Lean}, leanScale, c.x, c.u); f.Code != c.want {
			t.Errorf("%g +- %g: %s %s, want %s", c.x, c.u, f.Severity, f.Code, c.want)
		}
	}
}

// TestWhatADoubtMakes: a gauge that proves nothing makes UNPROVEN of what passes,
// and leaves what fails.
func TestWhatADoubtMakes(t *testing.T) {
	lapsed := doubtful(code.Lapsed, called("gauge", "PG1"), called("due", "2026-01-01"))
	for s, want := range map[schema.Severity]code.Code{schema.OK: code.Lapsed, schema.Flag: code.Lapsed, schema.Hold: code.Outside} {
		f := Rule{}.worded(decided(schema.Finding{Severity: s}, lapsed))[0]
		if f.Code != want || want == code.Lapsed && f.Means != "the reading proves nothing: gauge PG1 was due 2026-01-01" {
			t.Errorf("%s: %s: %s", s, f.Code, f.Means)
		}
	}
}

// TestAReadingWithoutANumber is none.
func TestAReadingWithoutANumber(t *testing.T) {
	r := state.Reading{Data: reading("zero", schema.Value{Name: "rail", State: schema.NotMeasured, Why: "x"})}
	if p, ok := timed[quantity.Gauge](r, "rail"); ok || p != 0 {
		t.Errorf("%v %v", p, ok)
	}
}

// TestHosesInTheTank: what lies in fuel, by its position and papers.
func TestHosesInTheTank(t *testing.T) {
	hose := &schema.PartData{Hose: &schema.HoseData{Submersible: schema.Yes}}
	for position, c := range map[string]struct {
		part *schema.PartData
		want string
	}{
		"in-tank hose": {nil, "unknown"}, "in-tank hose 2": {&schema.PartData{}, "unknown"}, "in-tank hose 3": {hose, "yes"}, "in-tank line": {hose, "yes"},
		"strainer": {&schema.PartData{Filter: &schema.FilterData{}}, ""}, "in-tank pump": {nil, ""}, "feed hose": {hose, ""},
	} {
		fit := state.Fitted{Data: schema.FitData{Position: position}, Part: c.part}
		got := ""
		for _, h := range hosesInTank(&state.Car{Fitted: map[string]state.Fitted{position: fit}}) {
			got += string(submersible(h))
		}
		if got != c.want {
			t.Errorf("%s: %q, want %q", position, got, c.want)
		}
	}
}

// TestCarburettorWithoutItsPressure: a plan that says nothing of the
// carburettor holds nothing down.
func TestCarburettorWithoutItsPressure(t *testing.T) {
	rail := schema.Value{Name: "rail", Value: "0.01", Unit: "bar", Gauge: &schema.GaugeSnapshot{Gauge: "PG1", Due: "2027-01-01", Accuracy: quantity.Written{Value: "0.01", Unit: "bar"}}}
	s := tell(t).add(0, schema.VehicleData{Name: "x", Description: "x", FuelSystem: "carburettor"}).add(0, visit(schema.OpenVisit, "1", 1))
	s.add(time.Minute, openPlan()).add(time.Hour, reading("base", rail)).wants(day, "K28", schema.Unproven)
}

// TestAnswersToCautions: what a caution asks for, and how long an answer holds.
// Source: the trade's catalogue (two names at a first start, a shift for what
// is done for the day, a reading for what an instrument shows), common practice.
func TestAnswersToCautions(t *testing.T) {
	met := func(id string, persons ...string) schema.CautionData {
		return schema.CautionData{Caution: id, State: schema.CautionMet, Proof: "seen, photo 4", Persons: persons}
	}
	na := schema.CautionData{Caution: "K07", State: schema.CautionNA, Why: "nothing is poured, the system is dry"}
	for _, c := range []struct {
		what, id string
		answer   schema.CautionData
		opened   time.Duration // after the answer; 0: before it
		says     string        // empty: answered
		next     string
	}{
		{"two names", "K19", met("K19", "tech-1", "tech-2"), 0, "", ""},
		{"the writer and another", "K19", met("K19", "tech-2"), 0, "", ""},
		{"the writer alone", "K19", met("K19", "tech-1"), 0, "one name only", "--person"},
		{"no names", "K19", met("K19"), 0, "one name only", "--person"},
		{"before the last opening", "K19", met("K19", "tech-1", "tech-2"), time.Minute, "was opened", "--person"},
		{"one name is enough", "K02", met("K02"), 0, "", ""},
		{"within a shift", "K02", met("K02"), 12 * time.Hour, "", ""},
		{"in a later shift", "K02", met("K02"), 12*time.Hour + time.Minute, "was opened", "feedproof caution CAR K02"},
		{"for the whole job", "K18", met("K18"), 30 * time.Hour, "", ""},
		{"a word for a reading", "K07", met("K07"), 0, "said, and not read", "feedproof read CAR bond"},
		{"said why not", "K07", na, 0, "", ""},
	} {
		s := inFirstVisit(t)
		if c.opened == 0 {
			s.add(30*time.Second, opened("rail"))
		}
		s.add(time.Minute, c.answer)
		if c.opened > 0 {
			s.add(time.Minute+c.opened, opened("rail"))
		}
		measured, next := "", ""
		for _, f := range s.at(3*day, "K") {
			if f.Rule == c.id {
				measured, next = f.Measured, f.Next
			}
		}
		if (measured == "") != (c.says == "") || !strings.Contains(measured, c.says) || !strings.Contains(next, c.next) || c.id != "K19" && strings.Contains(next, "--person") {
			t.Errorf("%s: %q, %q", c.what, measured, next)
		}
	}
}
