package rules

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"feedproof/schema"
	"feedproof/schema/quantity"
)

// openPlan is a plan of which nothing is known.
func openPlan() schema.PlanData {
	p := schema.PlanData{Envelope: signOff().Statement.Envelope}
	p.Engine.Consumption.State, p.Feed.Bore.State, p.Feed.Length.State = schema.Unknown, schema.Unknown, schema.Unknown
	return p
}

func planOf(base string) schema.PlanData {
	p := openPlan()
	p.Regulator = &schema.RegulatorPlan{Kind: schema.Referenced, Base: schema.Write[quantity.Difference](quantity.Written{Value: base, Unit: "bar"})}
	return p
}

// TestUnitsMixedUp: within 5 % of the ratio of two units of pressure. 1 bar is
// 14.5038 psi and 1 psi 6.89476 kPa: NIST SP 811.
func TestUnitsMixedUp(t *testing.T) {
	const psi, kpa = 14.503774, 6.894757
	for _, c := range []struct {
		ratio float64
		want  schema.Severity
	}{
		{1, schema.OK}, {0, schema.OK}, {10, schema.OK},
		{psi, schema.Flag}, {psi * 0.9505, schema.Flag}, {psi * 0.9495, schema.OK}, {psi * 1.0495, schema.Flag}, {psi * 1.0505, schema.OK},
		{kpa, schema.Flag}, {kpa * 0.9505, schema.Flag}, {kpa * 0.9495, schema.OK}, {kpa * 1.0495, schema.Flag}, {kpa * 1.0505, schema.OK},
		{0.9505 / psi, schema.Flag}, {0.9495 / psi, schema.OK}, {1.0495 / psi, schema.Flag}, {1.0505 / psi, schema.OK},
		{0.9505 / kpa, schema.Flag}, {0.9495 / kpa, schema.OK}, {1.0495 / kpa, schema.Flag}, {1.0505 / kpa, schema.OK},
	} {
		value := func(name string) schema.Value {
			return schema.Value{Name: name, Value: fmt.Sprintf("%.9f", 3*c.ratio), Unit: "bar"}
		}
		inFirstVisit(t).add(time.Minute, planOf("3")).add(time.Hour, reading("base", value("rail"))).wants(day, "X11", c.want)
		inFirstVisit(t).add(time.Minute, planOf("3")).add(time.Hour, reading("idle", value("off"))).wants(day, "X11", c.want)
	}
	inFirstVisit(t).add(time.Hour, reading("base", schema.Value{Name: "rail", Value: "43.5", Unit: "bar"})).wants(day, "X11", schema.OK)
	inFirstVisit(t).add(time.Minute, planOf("3")).add(time.Hour, reading("base", schema.Value{Name: "rail", State: schema.NotMeasured, Why: "x"})).wants(day, "X11", schema.OK)
}

// TestTorques: what a joint can have had, by the table of fittings with the
// source of each row, and by a maker's number. Factors: NIST SP 811.
func TestTorques(t *testing.T) {
	for _, c := range []struct {
		joint, torque, unit string
		want                schema.Severity
		says                string
	}{
		{"M5 flange", "2.5", "N.m", schema.OK, ""}, {"M5 flange", "200", "lbf.ft", schema.Block, ""}, {"M5 flange", "22", "lbf.ft", schema.Block, "22 lbf.in"},
		{"hanger flange", "200", "lbf.ft", schema.Block, ""}, {"hanger flange", "8", "N.m", schema.OK, ""},
		{"37 hose nut -6", "125", "lbf.ft", schema.Block, ""}, {"feed, dash 6", "125", "lbf.ft", schema.Block, "125 lbf.in"}, {"37 nut -6 aluminium tube", "120", "N.m", schema.Block, "120 lbf.in"},
		{"37 hose nut -6", "225", "lbf.ft", schema.Block, "225 lbf.in"}, {"37 hose nut -6", "24", "N.m", schema.OK, ""}, {"37 hose nut -6", "2", "N.m", schema.Hold, ""},
		{"37 nut -6 aluminium tube", "9.5", "lbf.ft", schema.OK, ""}, {"orb -6 aluminium port", "22", "N.m", schema.Flag, "22 lbf.ft"},
		{"orb-m:-8 aluminium", "50", "N.m", schema.OK, ""}, {"flare37-f:-6 aluminium tube", "36.7", "N.m", schema.Flag, ""}, {"flare37-f:-6 aluminium tube", "36.8", "N.m", schema.Block, ""},
		{"lock ring", "45", "N.m", schema.OK, ""}, {"", "200", "lbf.ft", schema.OK, ""},
	} {
		v := schema.Value{Name: "torque", Value: c.torque, Unit: c.unit, Port: c.joint}
		tale := inFirstVisit(t).add(time.Hour, reading("torque", v))
		tale.wants(day, "L45", c.want)
		step := inFirstVisit(t).add(time.Hour, schema.StepData{Step: "D7", State: schema.StepDone, Joint: c.joint, Torque: schema.Write[quantity.Torque](quantity.Written{Value: c.torque, Unit: c.unit})})
		step.wants(day, "L45", c.want)
		if found := tale.at(day, "L45"); c.says != "" && (len(found) != 1 || !strings.Contains(found[0].Measured, c.says)) {
			t.Errorf("%s, %s %s: %v does not name %q", c.joint, c.torque, c.unit, found, c.says)
		}
	}
	inFirstVisit(t).add(time.Hour, reading("torque", schema.Value{Name: "torque", State: schema.NotMeasured, Why: "x", Port: "M5"})).wants(day, "L45", schema.OK)
}

// TestMakersTorque: the maker's number wins over the table, and a joint that was
// strained stays so until it is opened or renewed and tightened again.
func TestMakersTorque(t *testing.T) {
	torque := func(joint, newtonMetres, maker string) schema.ReadingData {
		r := reading("torque", schema.Value{Name: "torque", Value: newtonMetres, Unit: "N.m", Port: joint})
		if maker != "" {
			r.Values = append(r.Values, schema.Value{Name: "maker", Value: maker, Unit: "N.m"})
		}
		return r
	}
	for value, want := range map[string]schema.Severity{"60": schema.OK, "53.9": schema.Flag, "54": schema.OK, "66": schema.OK, "66.1": schema.Flag, "30": schema.Flag, "29.9": schema.Hold, "78": schema.Flag, "78.1": schema.Block} {
		inFirstVisit(t).add(time.Hour, torque("37 nut -6", value, "60")).wants(day, "L45", want)
	}
	strained := func() *story { return inFirstVisit(t).add(time.Hour, torque("37 nut -6", "169", "")) }
	strained().add(2*time.Hour, torque("37 nut -6", "25", "")).wants(day, "L45", schema.Block)
	strained().add(2*time.Hour, torque("37 nut -8", "50", "")).wants(day, "L45", schema.Block)
	strained().add(90*time.Minute, schema.FitData{Position: "feed line", WhyNone: "kept from the car"}).add(2*time.Hour, torque("37 nut -6", "25", "")).wants(day, "L45", schema.OK)
	strained().add(90*time.Minute, schema.FitData{Position: "feed line", WhyNone: "kept from the car"}).wants(day, "L45", schema.Block)
	inFirstVisit(t).add(time.Hour, torque("37 nut -6", "2", "")).add(2*time.Hour, torque("37 nut -6", "25", "")).wants(day, "L45", schema.OK)
}

// TestMoved: how far a joint turned under the same torque, put on again: 15 and
// 45 degrees, shop rule. The last that was put on again counts.
func TestMoved(t *testing.T) {
	again := func(degrees string) schema.ReadingData {
		return reading("torque", schema.Value{Name: "torque", Value: "2.5", Unit: "N.m", Port: "M5 flange"}, schema.Value{Name: "moved", Value: degrees, Unit: "deg"})
	}
	for degrees, want := range map[string]schema.Severity{"0": schema.OK, "15": schema.OK, "16": schema.Flag, "45": schema.Flag, "46": schema.Hold} {
		inFirstVisit(t).add(time.Hour, again(degrees)).wants(day, "L45", want)
	}
	inFirstVisit(t).add(time.Hour, again("30")).add(2*time.Hour, again("0")).wants(day, "L45", schema.OK)
	inFirstVisit(t).add(time.Hour, again("0")).add(2*time.Hour, again("50")).wants(day, "L45", schema.Hold)
}

// TestHanger: two depths by two people within 1.5 mm, and the cut of 203 + 3 - 6
// = 200 mm within 1.0: common practice.
func TestHanger(t *testing.T) {
	module := func() *story {
		plan := planOf("3")
		mm := func(x string) schema.Q[quantity.Length] {
			return schema.Write[quantity.Length](quantity.Written{Value: x, Unit: "mm"})
		}
		plan.Tank = &schema.TankPlan{Gasket: mm("3"), Gap: mm("6")}
		return inFirstVisit(t).add(time.Minute, plan)
	}
	length := func(test, value, mm string) schema.ReadingData {
		return reading(test, schema.Value{Name: value, Value: mm, Unit: "mm"})
	}
	for _, c := range []struct {
		first, second, hanger string
		want                  schema.Severity
	}{
		{"203", "203", "200", schema.OK}, {"203", "203", "201", schema.OK}, {"203", "203", "201.1", schema.Hold}, {"203", "203", "199", schema.OK}, {"203", "203", "198.9", schema.Hold},
		{"203", "203", "216", schema.Hold}, {"203", "204.5", "200.75", schema.OK}, {"203", "204.6", "200.8", schema.Hold}, {"203", "", "200", schema.Unproven}, {"", "", "200", schema.Unproven}, {"203", "203", "", schema.Unproven},
	} {
		s := module()
		if c.first != "" {
			s.add(time.Hour, length("depth", "depth", c.first))
		}
		if c.second != "" {
			s.by("tech-2", "bay-2", 2*time.Hour, length("depth", "depth", c.second))
		}
		if c.hanger != "" {
			s.add(3*time.Hour, length("hanger", "length", c.hanger))
		}
		s.wants(day, "L46", c.want)
	}
	module().add(time.Hour, length("depth", "depth", "203")).add(2*time.Hour, length("depth", "depth", "203")).add(3*time.Hour, length("hanger", "length", "200")).wants(day, "L46", schema.Unproven)
	module().wants(day, "L46", schema.OK)
}

func loggedRun(values ...schema.NamedValue) schema.DatalogData {
	return schema.DatalogData{File: "run.csv", SHA256: strings.Repeat("a1", 32), Run: "pull", Mapping: []schema.ChannelMap{}, Worst: values}
}

// TestWhatALogSaysBeside: a log and what stands beside it in the record, each
// missing once.
func TestWhatALogSaysBeside(t *testing.T) {
	ethanol := func(percent string) schema.ReadingData {
		v := schema.Value{Name: "ethanol", Value: percent, Unit: "%"}
		if percent == "" {
			v = schema.Value{Name: "ethanol", State: schema.NotMeasured, Why: "x"}
		}
		return reading("ethanol", v)
	}
	shown := schema.NamedValue{Name: "ethanol", Value: "62", Unit: "%"}
	inFirstVisit(t).add(time.Minute, ethanol("85")).add(time.Hour, loggedRun(shown)).wants(day, "X13", schema.Hold)
	inFirstVisit(t).add(time.Minute, ethanol("71.9")).add(time.Hour, loggedRun(shown)).wants(day, "X13", schema.OK)
	inFirstVisit(t).add(time.Minute, ethanol("72.1")).add(time.Hour, loggedRun(shown)).wants(day, "X13", schema.Hold)
	inFirstVisit(t).add(time.Minute, ethanol("85")).add(time.Hour, loggedRun()).wants(day, "X13", schema.OK)
	inFirstVisit(t).add(time.Minute, ethanol("")).add(time.Hour, loggedRun(shown)).wants(day, "X13", schema.OK)
	inFirstVisit(t).add(time.Hour, loggedRun(shown)).add(2*time.Hour, ethanol("85")).wants(day, "X13", schema.OK)

	inFirstVisit(t).add(time.Hour, loggedRun(schema.NamedValue{Name: "power", Value: "400", Unit: "kW"})).wants(day, "X08", schema.OK) // no plan to hold it against

	zero := func(bar string) schema.NamedValue {
		return schema.NamedValue{Name: "rail zero", Value: bar, Unit: "bar"}
	}
	for bar, want := range map[string]schema.Severity{"0.02": schema.OK, "0.9627": schema.OK, "0.9635": schema.Hold, "1.063": schema.Hold, "1.0639": schema.OK, "-1.01": schema.Hold} {
		inFirstVisit(t).add(time.Hour, loggedRun(zero(bar))).wants(day, "X12", want)
	}
	inFirstVisit(t).add(time.Hour, loggedRun()).wants(day, "X12", schema.OK)

	mapped := func(plan, log string) *story {
		p, l := planOf("3"), loggedRun()
		p.Map, l.Map = plan, log
		return inFirstVisit(t).add(time.Minute, p).add(time.Hour, l)
	}
	mapped("A", "B").wants(day, "X20", schema.Hold)
	mapped("A", "A").wants(day, "X20", schema.OK)
	mapped("", "B").wants(day, "X20", schema.OK)
	mapped("A", "").wants(day, "X20", schema.OK)
	withoutPlan := loggedRun()
	withoutPlan.Map = "B"
	inFirstVisit(t).add(time.Hour, withoutPlan).wants(day, "X20", schema.OK)
}

// TestDigitsThatCount: which values are read to the last step of their gauge.
func TestDigitsThatCount(t *testing.T) {
	for _, c := range []struct {
		value, unit, division string
		want                  bool
	}{
		{"13.45", "V", "0.01", true}, {"1", "V", "1", true}, {"13.4", "V", "0.01", false}, {"13.45", "V", "0.02", true}, {"13.45", "V", "0.05", false},
		{"0.00", "V", "0.01", false}, {"13.45", "mV", "0.01", false}, {"", "V", "0.01", false}, {"1.00", "V", "0.01", true},
	} {
		v := schema.Value{Name: "volts", Value: c.value, Unit: c.unit, Gauge: &schema.GaugeSnapshot{Resolution: quantity.Written{Value: c.division, Unit: "V"}}}
		if got := finelyRead(v); got != c.want {
			t.Errorf("%q %s by %s: %v", c.value, c.unit, c.division, got)
		}
	}
	if finelyRead(schema.Value{Value: "13.45", Unit: "V"}) {
		t.Error("without a gauge")
	}
	var round []string
	for i := range 20 {
		round = append(round, fmt.Sprintf("13.%02d", 5*i))
	}
	if found := voltsRead(t, round, "0.01").add(5*day, visit(schema.OpenVisit, "2", 1)).at(10*day, "X03"); found != nil {
		t.Errorf("of an earlier visit: %v", found)
	}
}

// TestReasons: what counts as saying why, and as saying what was done.
func TestReasons(t *testing.T) {
	for text, want := range map[string]bool{
		"": false, "ok": false, "OK.": false, "done!": false, "n/a": false, "N/A": false, "NA": false, "na.": false, "Not applicable": false, "x": false, "Y": false, "yes": false,
		"E10 at most": true, "no return line": true, "naked bulb away": true,
	} {
		if reason(text) != want {
			t.Errorf("%q: %v", text, !want)
		}
	}
	for text, want := range map[string]bool{"": false, " done. ": false, "photo 4": true} {
		if says(text) != want {
			t.Errorf("%q: %v", text, !want)
		}
	}
}

// TestPlugsInAndOut: counted in this visit, in and out.
func TestPlugsInAndOut(t *testing.T) {
	count := func(step, n string) schema.StepData {
		return schema.StepData{Step: step, State: schema.StepDone, Count: schema.Number(n)}
	}
	in := func(n string) *story { return inFirstVisit(t).add(time.Minute, count("C4", n)) }
	in("4").add(time.Hour, count("F5", "4")).wants(day, "X22", schema.OK)
	in("4").add(time.Hour, count("F5", "3")).wants(day, "X22", schema.Hold)
	in("4").wants(day, "X22", schema.OK)
	in("4").add(2*time.Minute, count("C4", "")).add(time.Hour, count("F5", "3")).wants(day, "X22", schema.Hold)
	in("4").add(time.Hour, count("F5", "")).wants(day, "X22", schema.OK)
	inFirstVisit(t).add(time.Hour, count("F5", "3")).wants(day, "X22", schema.OK)
	in("4").add(time.Hour, count("F5", "3")).add(2*time.Hour, count("C4", "2")).wants(day, "X22", schema.OK) // open again
	in("4").add(time.Hour, visit(schema.OpenVisit, "2", 1)).add(2*time.Hour, count("F5", "3")).wants(day, "X22", schema.OK)
}

// TestUnreasoned: steps that a hold point waits for, and values, of this visit.
func TestUnreasoned(t *testing.T) {
	step := func(id, why string) schema.StepData {
		return schema.StepData{Step: id, State: schema.StepNA, Why: why}
	}
	inFirstVisit(t).add(time.Minute, step("F5", "")).wants(day, "X23", schema.Hold)
	inFirstVisit(t).add(time.Minute, step("F5", "no line was open")).wants(day, "X23", schema.OK)
	inFirstVisit(t).add(time.Minute, step("F5", "")).add(time.Hour, step("F5", "no line was open")).wants(day, "X23", schema.OK)
	inFirstVisit(t).add(time.Minute, step("F5", "")).add(time.Hour, visit(schema.OpenVisit, "2", 1)).wants(day, "X23", schema.OK)
	inFirstVisit(t).add(time.Minute, step("A3", "")).wants(day, "X23", schema.OK) // no hold point waits for it
	value := func(why string) schema.ReadingData {
		return reading("charging", schema.Value{Name: "volts", State: schema.NotApplicable, Why: why})
	}
	inFirstVisit(t).add(time.Minute, value("NA")).wants(day, "X23", schema.Hold)
	inFirstVisit(t).add(time.Minute, value("no alternator on the bench")).wants(day, "X23", schema.OK)
}

// TestClaimsOfOneMachineAlone: what only one can say, in this visit, as it
// stands. Machines count on by themselves.
func TestClaimsOfOneMachineAlone(t *testing.T) {
	fit := func(part string) schema.FitData { return schema.FitData{Position: "pump", Part: part} }
	apart := func() *story { // both write their second entry without the other
		s := inFirstVisit(t).add(time.Minute, fit("P-1"))
		return s.onDevice("bay-3", 2, 2*time.Minute, fit("P-2"))
	}
	apart().wants(day, "X34", schema.Hold)
	apart().add(time.Hour, fit("P-2")).wants(day, "X34", schema.OK) // settled later
	both := apart().onDevice("bay-3", 3, 3*time.Minute, schema.FitData{Position: "filter", Part: "F-2"})
	both.onDevice("bay-2", 3, 3*time.Minute, schema.FitData{Position: "filter", Part: "F-1"})
	if found := both.at(day, "X34"); len(found) != 2 {
		t.Errorf("two positions: %v", found)
	}
	back := apart()
	back.add(time.Hour, schema.CorrectData{Entry: back.record.Entries[1].ID, Action: schema.Void, Why: "not fitted"}).wants(day, "X34", schema.OK)
	apart().add(time.Hour, visit(schema.OpenVisit, "2", 1)).wants(day, "X34", schema.OK)
	closing := schema.HoldPointData{Point: "HP1", Action: "reopen", Why: "x"}
	inFirstVisit(t).add(time.Minute, closing).byAt("tech-2", "bay-3", 2, 2*time.Minute, closing).wants(day, "X34", schema.OK)
}

func (s *story) onDevice(device string, counter int64, after time.Duration, data schema.Data) *story {
	return s.byAt("tech-1", device, counter, after, data)
}

func (s *story) byAt(person, device string, counter int64, after time.Duration, data schema.Data) *story {
	s.t.Helper()
	e, err := s.made(counter, schema.Origin{By: person, Device: device, At: epoch.Add(after), Entered: epoch.Add(after)}, data)
	if err != nil {
		s.t.Fatal(err)
	}
	s.record = s.record.With(e)
	return s
}

// TestNoNumberIsNoClaim: cars without a chassis number are not one car.
func TestNoNumberIsNoClaim(t *testing.T) {
	for vin, want := range map[string]schema.Severity{"": schema.OK, "00TDK42B84Z000042": schema.Hold, "00tdk42b84z000042": schema.Hold, "00TDK42B84Z000043": schema.OK} {
		s := tell(t).add(0, schema.VehicleData{Name: "x", Description: "x", VIN: vin}).add(0, visit(schema.OpenVisit, "1", 1))
		s.shop.Claims = []schema.Claim{{Name: "other"}, {Name: "another", VIN: "00TDK42B84Z000042"}}
		s.wants(day, "X32", want)
	}
}

// TestPages: a page has the parts that its rule has, and says what is never
// waived.
func TestPages(t *testing.T) {
	page := Rule{ID: "X", Title: "title", What: "what", Limits: "1 bar", Never: true}.Page()
	if !strings.Contains(page, "## Limits") || strings.Contains(page, "## Formula") || !strings.Contains(page, "Nobody can waive") {
		t.Error(page)
	}
	if strings.Contains(Rule{ID: "X"}.Page(), "Nobody can waive") {
		t.Error("all are never waived")
	}
}

// TestWhatCannotBe: each bound, on it and beyond.
func TestWhatCannotBe(t *testing.T) {
	for unit, c := range map[string]struct{ can, cannot []string }{
		"%":       {[]string{"0", "100"}, []string{"-0.1", "100.5"}},
		"kPa abs": {[]string{"0.001", "101.3", "10000"}, []string{"0", "-5", "10050"}},
		"bar":     {[]string{"-1.1", "0", "1000"}, []string{"-1.11", "1000.5"}},
		"% LEL":   {[]string{"0", "100"}, []string{"-0.1", "100.5"}},
		"degC":    {[]string{"-90", "20", "1500"}, []string{"-91", "1510"}},
		"lambda":  {[]string{"0.4", "1", "3"}, []string{"0.397", "3.02"}},
		"s":       {[]string{"0", "0.5", "86400"}, []string{"-0.1"}},
		"L":       {[]string{"0", "0.0005", "60"}, []string{"-0.1"}},
		"mm":      {[]string{"0", "0.5", "5000"}, []string{"-0.1"}},
		"L/h":     {[]string{"0", "0.5", "600"}, []string{"-0.1"}},
		"ohm":     {[]string{"0", "0.5", "5000000"}, []string{"-0.1"}},
		"A":       {[]string{"0", "0.5", "60"}, []string{"-0.1"}},
		"N.m":     {[]string{"0", "0.5", "600"}, []string{"-0.1"}},
	} {
		beyond := func(value string) (outside int) {
			for _, b := range bounds {
				if _, out := b.judge(quantity.Written{Value: value, Unit: unit}); out {
					outside++
				}
			}
			return outside
		}
		for _, v := range c.can {
			if beyond(v) != 0 {
				t.Errorf("%s %s can be", v, unit)
			}
		}
		for _, v := range c.cannot {
			if beyond(v) != 1 {
				t.Errorf("%s %s cannot be", v, unit)
			}
		}
	}
}

// TestCapitals: steps of this visit whose other case is one of its jobs'.
func TestCapitals(t *testing.T) {
	first := visit(schema.OpenVisit, "1", 1)
	first.Kinds = []schema.JobKind{"b"}
	done := func(step string) *story {
		return tell(t).add(0, first).add(time.Minute, schema.StepData{Step: step, State: schema.StepDone})
	}
	done("a1").wants(day, "X36", schema.Flag) // A1 is the first step of all
	done("A1").wants(day, "X36", schema.OK)
	done("b1").wants(day, "X36", schema.OK)
	done("h12").wants(day, "X36", schema.OK)
	second := visit(schema.OpenVisit, "2", 1)
	second.Kinds = []schema.JobKind{"b"}
	done("a1").add(time.Hour, second).wants(day, "X36", schema.OK)
}

// TestDeclaredAgainstRelease: what the customer declares is held to the last
// release, or to the plan of this visit, never to the release it led to.
func TestDeclaredAgainstRelease(t *testing.T) {
	kW := func(n string) schema.Q[quantity.Power] {
		return schema.Write[quantity.Power](quantity.Written{Value: n, Unit: "kW"})
	}
	declared := func(n string) schema.VisitData {
		v := visit(schema.OpenVisit, "2", 1)
		v.Declared = &schema.Declared{Power: kW(n)}
		return v
	}
	release := signOff()
	release.Statement.Envelope.Power = kW("300")
	plan := func(n string) schema.PlanData {
		p := openPlan()
		p.Envelope.Power = kW(n)
		return p
	}
	before := func() *story { return inFirstVisit(t).add(time.Hour, plan("300")).add(2*time.Hour, release) }
	before().add(day, declared("300")).wants(2*day, "X33", schema.OK)
	before().add(day, declared("400")).wants(2*day, "X33", schema.Block)
	before().add(day, declared("400")).add(25*time.Hour, plan("350")).wants(2*day, "X33", schema.Flag)
	before().add(day, declared("400")).add(25*time.Hour, plan("450")).wants(2*day, "X33", schema.OK)
	tell(t).add(0, declared("400")).add(time.Hour, release).wants(2*day, "X33", schema.OK)
	tell(t).add(0, declared("400")).wants(2*day, "X33", schema.OK)
}

// TestMinimumOfThisVisit: each asked for where it is missing, and nothing of an
// earlier visit counts.
func TestMinimumOfThisVisit(t *testing.T) {
	video := schema.EvidenceData{SHA256: strings.Repeat("c3", 32), Bytes: 1, Type: "video/mp4", What: "gauge", Step: "I9"}
	fit := schema.FitData{Position: "fuel filter"}
	wants := func(what string, s *story, after time.Duration, want ...string) {
		t.Helper()
		var got []string
		for _, f := range s.at(after, "X31") {
			got = append(got, f.About)
		}
		if fmt.Sprint(got) != fmt.Sprint(want) {
			t.Errorf("%s: %q, want %q", what, got, want)
		}
	}
	const noPhoto, noLog, noFuel, noPart = "photo of the car", "log of the loaded pull", "ethanol on the day of the loaded pull", "what the fuel filter is"
	again := func(s *story) *story { return s.add(day, visit(schema.OpenVisit, "2", 1)) }
	wants("nothing", inFirstVisit(t), day, noPhoto, noLog)
	wants("photo and video", inFirstVisit(t).add(time.Minute, photo("a1")).add(time.Minute, video), day)
	wants("of an earlier visit", again(inFirstVisit(t).add(time.Minute, photo("a1")).add(time.Minute, video)), 2*day, noPhoto, noLog)
	wants("a part", inFirstVisit(t).add(time.Minute, photo("a1")).add(time.Minute, fit).add(time.Hour, video), day, noPart)
	wants("a part of an earlier visit", again(inFirstVisit(t).add(time.Minute, fit)).add(day, photo("a1")).add(day, video), 2*day)
	load := reading("load", schema.Value{Name: "rail", Value: "4.2", Unit: "bar"})
	ethanol := reading("ethanol", schema.Value{Name: "ethanol", Value: "9", Unit: "%"})
	seen := func() *story { return inFirstVisit(t).add(time.Minute, photo("a1")).add(time.Minute, video) }
	wants("a load", seen().add(2*day, load), 3*day, noFuel)
	wants("a load and a log of another day", seen().add(time.Hour, ethanol).add(25*time.Hour, load).add(26*time.Hour, loggedRun()), 3*day, noFuel)
	wants("a log and a load of another day", seen().add(time.Hour, ethanol).add(25*time.Hour, loggedRun()).add(26*time.Hour, load), 3*day, noFuel)
	wants("on the day of the load", seen().add(time.Hour, ethanol).add(25*time.Hour, load), 3*day)
	wants("on the day of the log", seen().add(2*time.Hour, ethanol).add(time.Hour, load).add(26*time.Hour, loggedRun()), 3*day)
}
