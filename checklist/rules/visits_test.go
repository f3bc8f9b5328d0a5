package rules

import (
	"testing"
	"time"

	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/quantity"
)

func logOf(run string, values ...schema.NamedValue) schema.DatalogData {
	return schema.DatalogData{File: "run.csv", SHA256: "aa", Run: run, Mapping: []schema.ChannelMap{}, Worst: values}
}

func (s *story) fold() *state.Car {
	return state.Fold(state.Told(s.record), schema.Shop{Record: schema.NewRecord(schema.ShopRecord, "shop")}, epoch.Add(30*day))
}

// TestEarlierVisitsDoNotCount: what a log or a step of an earlier visit said
// says nothing of the car as it stands now.
func TestEarlierVisitsDoNotCount(t *testing.T) {
	runsOn := schema.NamedValue{Name: logPumpStop, Value: "9", Unit: "s"}
	first := func(data schema.Data) *story {
		return tell(t).add(0, visit(schema.OpenVisit, "1", 1)).add(time.Hour, data)
	}
	first(logOf("pull", runsOn)).wants(day, "L25", schema.Hold)
	if found := first(logOf("pull", runsOn)).add(day, visit(schema.OpenVisit, "2", 2)).at(2*day, "L25"); found != nil {
		t.Errorf("a stop of an earlier visit: %v", found)
	}
	duty := schema.NamedValue{Name: logDuty, Value: "96", Unit: "%"}
	first(logOf("pull", duty)).wants(day, "L03", schema.Block)
	if found := first(logOf("pull", duty)).add(day, visit(schema.OpenVisit, "2", 2)).at(2*day, "L03"); found != nil {
		t.Errorf("duty of an earlier visit: %v", found)
	}
	staged := visit(schema.OpenVisit, "2", 2)
	staged.Kinds = []schema.JobKind{"e"}
	notStaged := schema.StepData{Step: "e4", State: schema.StepNA, Why: "one relay for both"}
	first(notStaged).add(day, staged).add(day+time.Hour, logOf("pull")).wants(2*day, "L32", schema.Unproven)
	if found := first(logOf("idle")).add(day, staged).add(day+time.Hour, notStaged).add(day+2*time.Hour, logOf("pull")).at(2*day, "L32"); found != nil {
		t.Errorf("stages that do not apply: %v", found)
	}
	if found := tell(t).add(0, staged).at(day, "L32"); found != nil {
		t.Errorf("stages without a loaded log: %v", found)
	}
}

func onGauge(name, bar, gauge string) schema.Value {
	v := schema.Value{Name: name, Value: bar, Unit: "bar"}
	if gauge != "" {
		v.Gauge = &schema.GaugeSnapshot{Gauge: gauge, Due: "2027-01-01", Accuracy: quantity.Written{Value: "0.01", Unit: "bar"}}
	}
	return v
}

// TestBaseOn: the last base pressure with the hose off, on the gauge that read
// the load if there is one. Source: common practice, for differences on one
// gauge cancel.
func TestBaseOn(t *testing.T) {
	base := func(bar, gauge string) schema.ReadingData { return reading("base", onGauge("rail", bar, gauge)) }
	idle := func(bar, gauge string) schema.ReadingData {
		return reading("idle", onGauge("off", bar, gauge), onGauge("on", "1.00", gauge), schema.Value{Name: "manifold", State: schema.Unknown})
	}
	with := func(r schema.ReadingData, hose string) schema.ReadingData {
		r.Conditions = &schema.Conditions{Hose: hose}
		return r
	}
	unread := reading("base", schema.Value{Name: "rail", State: schema.Unknown})
	fitted := func(position string) schema.FitData { return schema.FitData{Position: position, WhyNone: "kept"} }
	for name, c := range map[string]struct {
		said []schema.Data
		want string // in bar; empty: none
	}{
		"the last":                       {[]schema.Data{base("3.10", "A"), base("3.20", "A")}, "3.20"},
		"the first of the visit":         {[]schema.Data{base("3.10", "A")}, "3.10"},
		"idle, hose off":                 {[]schema.Data{base("3.10", "A"), idle("3.20", "A")}, "3.20"},
		"idle, said to be with hose on":  {[]schema.Data{base("3.10", "A"), with(idle("3.20", "A"), "on")}, "3.20"},
		"the same gauge before a later":  {[]schema.Data{base("3.10", "A"), base("3.20", "B")}, "3.10"},
		"another gauge, the last":        {[]schema.Data{base("3.10", "B"), base("3.20", "C")}, "3.20"},
		"no gauge named":                 {[]schema.Data{base("3.10", "B"), base("3.20", "")}, "3.20"},
		"hose on is no base":             {[]schema.Data{base("3.10", "B"), with(base("3.20", "A"), "on")}, "3.10"},
		"hose off":                       {[]schema.Data{with(base("3.10", "A"), "off")}, "3.10"},
		"not read":                       {[]schema.Data{base("3.10", "B"), unread}, "3.10"},
		"not read at all":                {[]schema.Data{unread}, ""},
		"another test":                   {[]schema.Data{reading("leak-down", onGauge("start", "3.10", "A"))}, ""},
		"before another regulator":       {[]schema.Data{base("3.10", "A"), fitted("regulator")}, ""},
		"before another pump":            {[]schema.Data{base("3.10", "A"), fitted("pump")}, ""},
		"before another filter":          {[]schema.Data{base("3.10", "A"), fitted("filter")}, "3.10"},
		"of an earlier visit":            {[]schema.Data{base("3.10", "A"), visit(schema.OpenVisit, "2", 2)}, ""},
		"of an earlier visit, and later": {[]schema.Data{base("3.10", "A"), visit(schema.OpenVisit, "2", 2), base("3.20", "B")}, "3.20"},
	} {
		s := tell(t).add(0, visit(schema.OpenVisit, "1", 1))
		for i, data := range c.said {
			s.add(time.Duration(i+1)*time.Hour, data)
		}
		m, _, ok := baseOn(s.fold(), "A")
		if got := quantity.Format(m.value, "bar", 2); ok != (c.want != "") || ok && got != c.want+" bar" {
			t.Errorf("%s: %s %v, want %q", name, got, ok, c.want)
		}
	}
	s := tell(t).add(0, visit(schema.OpenVisit, "1", 1)).add(1, base("3.10", "")).add(2, base("3.20", "B"))
	if m, _, _ := baseOn(s.fold(), ""); quantity.Format(m.value, "bar", 2) != "3.20 bar" {
		t.Errorf("two readings without a gauge are not on one gauge: got %s", quantity.Text(m.value))
	}
}

// TestHotLeakDown: a rise is told of apart and does not count; a start that
// nobody read is no rise.
func TestHotLeakDown(t *testing.T) {
	down := func(start, end schema.Value) schema.ReadingData {
		return reading("leak-down", start, end, schema.Value{Name: "time", Value: "5", Unit: "min"})
	}
	s := func() *story { return tell(t).add(0, visit(schema.OpenVisit, "1", 1)) }
	unread := schema.Value{Name: "start", State: schema.Unknown}
	if found := s().add(1, down(unread, onGauge("end", "2.90", "A"))).at(day, "L07"); len(found) != 1 || found[0].Severity != schema.Unproven {
		t.Errorf("a start that was not read: %v", found)
	}
	hot := s().add(1, down(onGauge("start", "3.000", "A"), onGauge("end", "2.900", "A"))).add(2, down(onGauge("start", "3.000", "A"), onGauge("end", "3.600", "A")))
	if found := hot.at(day, "L07"); len(found) != 2 || found[0].Severity != schema.Note || found[1].Severity != schema.OK {
		t.Errorf("a rise after a hot stop: %v", found)
	}
}

// TestPairsThatCannotBeRead: a point of the slope whose pressure is in a unit of
// something else is none.
func TestPairsThatCannotBeRead(t *testing.T) {
	point := func(manifold, rail string) []schema.Value {
		return []schema.Value{{Name: "manifold", Value: "150", Unit: manifold}, {Name: "rail", Value: "3.50", Unit: rail}}
	}
	for _, c := range []struct {
		manifold, rail string
		want           int
	}{{"kPa abs", "bar", 1}, {"V", "bar", 0}, {"kPa abs", "V", 0}} {
		r := state.Reading{Data: reading("slope", point(c.manifold, c.rail)...)}
		if got := len(pairs(tell(t).add(0, visit(schema.OpenVisit, "1", 1)).fold(), r)); got != c.want {
			t.Errorf("manifold in %s, rail in %s: %d points, want %d", c.manifold, c.rail, got, c.want)
		}
	}
}
