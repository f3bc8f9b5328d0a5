package datalog

import (
	"bytes"
	"encoding/json"
	"math"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"feedproof/schema/quantity"
)

// seen analyses a drive and says whether a signature is in it.
func stateOf(t *testing.T, id string, d drive, cols []column, c Conditions) State {
	t.Helper()
	r := analyseAs(t, d, cols, plain(), c)
	s, ok := r.Signature(id)
	if !ok {
		t.Fatalf("no signature %s", id)
	}
	t.Logf("%s %s: %s", s.ID, s.State, s.Text)
	return s.State
}

func inPull(s *shot) bool { return s.throttle >= 90 }

// TestEvents: each signature that is an event or of one channel shows when the
// event is put into a log, and does not without it.
func TestEvents(t *testing.T) {
	slosh := func(s *shot) {
		if in := math.Mod(s.t, 4); s.throttle == 25 && in < 0.6 {
			s.lat = 0.9
			s.rail -= 0.3
		}
	}
	stage := func(step, current float64) func(*shot) {
		return func(s *shot) {
			if inPull(s) && s.rpm > 5000 {
				s.stage = 1
				s.rail += step
				s.current += current
			}
		}
	}
	cols := with(dutyColumn, stageColumn, lateralColumn)
	tests := []struct {
		id    string
		with  drive
		other drive
	}{
		{"S07", drive{mutate: slosh}, drive{mutate: func(s *shot) {
			if in := math.Mod(s.t, 4); s.throttle == 25 && in < 0.6 {
				s.lat = 0.9 // cornering without a dip
			}
		}}},
		{"S08", drive{warmByPull: 8, mutate: func(s *shot) {
			if inPull(s) {
				s.rail -= max(0, s.fuelT-30) * 0.01
			}
		}}, drive{warmByPull: 8}},
		{"S09", drive{mutate: func(s *shot) {
			if inPull(s) {
				s.rail += 0.08 * math.Sin(s.t*s.t*991) // no one frequency
			}
		}}, drive{}},
		{"S11", drive{mutate: stage(0.25, 8)}, drive{mutate: stage(0, 8)}},
		{"S12", drive{mutate: stage(0, 0)}, drive{mutate: stage(0, 8)}},
		{"S13", drive{mutate: func(s *shot) {
			if inPull(s) {
				s.pw *= 0.8 + 0.7*s.rpm/7200
			}
		}}, drive{}},
		{"S14", drive{mutate: func(s *shot) {
			if inPull(s) {
				s.lambda = 0.8
			}
		}}, drive{}},
		{"S15", drive{mutate: func(s *shot) {
			if s.rpm > 0 {
				s.rail = 4
			}
		}}, drive{}},
		{"S16", drive{mutate: func(s *shot) { s.mapKPa += 5 }}, drive{}},
		{"S17", drive{mutate: func(s *shot) {
			if s.t > 30 {
				s.ethanol = 62
			}
		}}, drive{}},
	}
	for _, test := range tests {
		t.Run(test.id, func(t *testing.T) {
			if got := stateOf(t, test.id, test.with, cols, testConditions); got != Seen {
				t.Errorf("%s with the event in it", got)
			}
			if got := stateOf(t, test.id, test.other, cols, testConditions); got != NotSeen {
				t.Errorf("%s without it", got)
			}
		})
	}
}

// TestCannotTell: without its channels a signature is not judged.
func TestCannotTell(t *testing.T) {
	bare := []column{columns[0]} // engine speed alone
	r := analyseAs(t, drive{}, bare, plain(), Conditions{})
	told := map[string]bool{"S10": true} // no wave without rail pressure
	for _, s := range r.Signatures {
		if (s.State == CannotTell) == told[s.ID] {
			t.Errorf("%s %s: %s", s.ID, s.State, s.Text)
		}
		if s.Text == "" || len(s.Causes) == 0 || s.Next == "" {
			t.Errorf("%s says too little: %+v", s.ID, s)
		}
	}
	for _, limit := range []string{"L03", "L04a", "L04b", "L05", "L10", "L13", "L14", "L24", "L25"} {
		if len(r.Unproven(limit)) == 0 {
			t.Errorf("%s is not unproven in a log of engine speed alone", limit)
		}
	}
}

// TestProofs: each defect of a log is said, in the state it deserves, and is
// not said of a good log.
func TestProofs(t *testing.T) {
	cols := with(dutyColumn, stageColumn, lateralColumn, dropColumn)
	on := func(s *shot) {
		if inPull(s) {
			s.stage = 1
		}
	}
	good := drive{rate: 50, mutate: on}
	base := analyseAs(t, good, cols, plain(), testConditions)
	changed := func(f func(*shot)) drive { return drive{mutate: func(s *shot) { on(s); f(s) }} }
	condition := func(f func(*Conditions)) Conditions {
		c := testConditions
		f(&c)
		return c
	}
	held := 0.0
	tests := []struct {
		name, check string
		drive       drive
		conditions  Conditions
		want        ProofState
	}{
		{"short pulls", "length", drive{pullTime: 2, mutate: on}, testConditions, Unproven},
		{"one pull", "repeats", drive{pulls: 1, mutate: on}, testConditions, Unproven},
		{"five times a second", "rate", drive{rate: 5, mutate: on}, testConditions, Unproven},
		{"no hose-off idle", "base", good, condition(func(c *Conditions) { c.HoseOff = Span{} }), Unproven},
		{"base of a gauge", "base", good, condition(func(c *Conditions) { c.HoseOff, c.Base = Span{}, 3e5 }), Unproven},
		{"charger", "charger", good, condition(func(c *Conditions) { c.Charger = Yes }), Unproven},
		{"charger not said", "charger", good, condition(func(c *Conditions) { c.Charger = Unknown }), Unproven},
		{"too smooth", "noise", drive{noise: 1e-6, mutate: func(s *shot) { on(s); s.rail = math.Round(s.drop*1e3)/1e3 + (s.mapKPa-testBaro)/100 }}, testConditions, Unproven},
		{"held samples", "held samples", changed(func(s *shot) {
			if inPull(s) && s.rpm > 5000 && s.rpm < 6000 {
				if held == 0 {
					held = s.rail
				}
				s.rail = held
			}
		}), testConditions, Unproven},
		{"absolute taken for gauge", "rail zero", changed(func(s *shot) { s.rail += 1.013 }), testConditions, Unproven},
		{"manifold off at rest", "key on", changed(func(s *shot) { s.mapKPa += 5 }), testConditions, Unproven},
		{"no key on", "key on", drive{startAt: keyOnEnd, mutate: on}, testConditions, Auditor},
		{"duty of another bank", "duty", changed(func(s *shot) { s.duty *= 47.0 / 70.2 }), testConditions, Unproven},
		{"typed difference", "difference", changed(func(s *shot) { s.drop += 0.05 }), testConditions, Unproven},
		{"second stage never ran", "second stage", drive{}, testConditions, Unproven},
		{"second stage above the log", "second stage", good, condition(func(c *Conditions) { c.StageAt = 320e3 }), Unproven},
		{"gaps", "time", changed(func(s *shot) {
			if s.t > 30 {
				s.t += 2
			}
		}), testConditions, Auditor},
		{"time goes back", "time", changed(func(s *shot) {
			if s.t > 30 {
				s.t -= 10
			}
		}), testConditions, Auditor},
		{"ends before the stop", "pump stop", drive{mutate: on, endAt: idleEnd + 3*15}, testConditions, Unproven},
		{"out of range", "range", changed(func(s *shot) { s.lambda = 20 }), testConditions, Auditor},
		{"0 Hz alias", "alias", changed(func(s *shot) {
			if inPull(s) {
				s.rpm = 6000
			}
		}), condition(func(c *Conditions) { c.Cylinders = 8 }), Unproven},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			if got := proofOf(t, base, test.check); got.State != Proven {
				t.Errorf("a good log: %s: %s", got.State, got.Text)
			}
			r := analyseAs(t, test.drive, cols, plain(), test.conditions)
			if got := proofOf(t, r, test.check); got.State != test.want {
				t.Errorf("%s is %s (%s), want %s", test.check, got.State, got.Text, test.want)
			}
		})
	}
}

func proofOf(t *testing.T, r Result, check string) Proof {
	t.Helper()
	for _, p := range r.Proofs {
		if p.Check == check {
			return p
		}
	}
	t.Fatalf("no proof called %q", check)
	return Proof{}
}

// TestContradiction is T009 of the trade notes: 11.7 ms at 7200 rpm is 70.2 %,
// and the log says 47 %.
func TestContradiction(t *testing.T) {
	cols := with(dutyColumn)
	r := analyseAs(t, drive{mutate: func(s *shot) {
		if inPull(s) {
			s.rpm, s.pw, s.duty = 7200, 11.7, 47
		}
	}}, cols, plain(), testConditions)
	if got := float64(r.DutyCommand); math.Abs(got-0.702) > 1e-9 {
		t.Errorf("computed %v, notes 0.702", got)
	}
	if !r.DutyOff.Known || math.Abs(float64(r.DutyOff.Value)-0.232) > 1e-6 || math.Abs(float64(r.DutyLogged)-0.47) > 1e-9 {
		t.Errorf("off by %+v from a logged %v", r.DutyOff, r.DutyLogged)
	}
}

// TestEventsPerCycle: two injections in 720 degrees are twice the duty (trade
// notes: PW * rpm / 600 for batch injection).
func TestEventsPerCycle(t *testing.T) {
	file := render(drive{}.shots(), columns, plain())
	m := mapping(t, file, columns)
	once, err := Analyse(bytes.NewReader(file), m, testConditions)
	if err != nil {
		t.Fatal(err)
	}
	for i := range m.Columns {
		if m.Columns[i].Channel == PulseWidth {
			m.Columns[i].Events = 2
		}
	}
	twice, err := Analyse(bytes.NewReader(file), m, testConditions)
	if err != nil {
		t.Fatal(err)
	}
	if !once.Duty.Known || twice.Duty.Value != 2*once.Duty.Value {
		t.Errorf("once %+v, twice %+v", once.Duty, twice.Duty)
	}
}

// TestSensors: the same pressures from gauge, absolute and sealed sensors give
// the same difference, at sea level and at 1500 m (84.6 kPa, trade notes).
func TestSensors(t *testing.T) {
	for _, barometer := range []float64{101.3, 84.6} {
		as := func(sensor Sensor) column {
			return column{"Fuel Pressure", "kPa", Rail, sensor, 0, 3, func(s shot) float64 {
				gauge := s.drop*100 + s.mapKPa - barometer
				switch sensor {
				case Absolute:
					return gauge + barometer
				case Sealed:
					return gauge + barometer - 101.325
				}
				return gauge
			}}
		}
		d := drive{mutate: func(s *shot) { s.baro = barometer }}
		var lowest []float64
		for _, sensor := range []Sensor{Gauge, Absolute, Sealed} {
			cols := append([]column{}, columns...)
			cols[2] = as(sensor)
			r := analyseAs(t, d, cols, plain(), testConditions)
			if !r.LowestDrop.Known {
				t.Fatalf("%s: nothing computed", sensor)
			}
			lowest = append(lowest, float64(r.LowestDrop.Value))
		}
		for _, v := range lowest {
			if math.Abs(v-lowest[0]) > 1 || math.Abs(v-2.99e5) > 0.02e5 {
				t.Errorf("barometer %v kPa: %v Pa", barometer, lowest)
			}
		}
	}
}

// TestPumpStop: 1 s, and never.
func TestPumpStop(t *testing.T) {
	r := analyse(t, drive{}, testConditions)
	if !r.PumpStop.Known || r.PumpStop.Never || math.Abs(float64(r.PumpStop.After)-1) > 0.05 {
		t.Errorf("stops after 1 s: %+v", r.PumpStop)
	}
	long := drive{stillPump: true, mutate: func(s *shot) {
		if s.t >= idleEnd+3*15-2 {
			s.rpm = 0 // stopped 6 s before the end
		}
	}}
	if r := analyse(t, long, testConditions); !r.PumpStop.Never {
		t.Errorf("never stops: %+v", r.PumpStop)
	}
}

// TestShiftIsIgnored: a dip in the 0.3 s after a shift does not count, the same
// dip later does.
func TestShiftIsIgnored(t *testing.T) {
	dip := func(from, to float64) drive {
		return drive{pulls: 1, mutate: func(s *shot) {
			in := s.t - idleEnd - 6
			if in > 4 && in < 4.25 {
				s.throttle = 20 // the shift
			}
			if in > from && in < to {
				s.rail -= 0.4
			}
		}}
	}
	shift := analyse(t, dip(4, 4.5), testConditions)
	if low := quantity.In(shift.LowestDrop.Value, "bar"); low < 2.95 {
		t.Errorf("a dip in the shift counts: %v", low)
	}
	if shift.Loaded != 1 {
		t.Errorf("a shift makes %d pulls", shift.Loaded)
	}
	later := analyse(t, dip(5, 5.5), testConditions)
	if low := quantity.In(later.LowestDrop.Value, "bar"); low > 2.65 {
		t.Errorf("a dip of 0.5 s does not count: %v", low)
	}
	if at := float64(later.LowestDrop.At) - idleEnd - 6; at < 5.2 || at > 5.6 {
		t.Errorf("the dip from 5.0 to 5.5 s is put at %v", at)
	}
}

// TestMultiRate: slow channels blank in most rows, fast ones not.
func TestMultiRate(t *testing.T) {
	as := plain()
	as.slowEvery = 10
	want := analyse(t, drive{}, testConditions)
	r := analyseAs(t, drive{}, columns, as, testConditions)
	if r.Loaded != want.Loaded || r.LowestDrop != want.LowestDrop || r.Duty != want.Duty {
		t.Errorf("%d pulls, %+v, %+v; all filled %+v", r.Loaded, r.LowestDrop, r.Duty, want.LowestDrop)
	}
	if math.Abs(float64(r.PumpVoltage.Value-want.PumpVoltage.Value)) > 0.05 || !r.Temperature.Known {
		t.Errorf("slow channels: %+v %+v", r.PumpVoltage, r.Temperature)
	}
}

// TestNoThrottle: pulls are found from manifold pressure.
func TestNoThrottle(t *testing.T) {
	var cols []column
	for _, c := range columns {
		if c.channel != Throttle {
			cols = append(cols, c)
		}
	}
	want := analyse(t, drive{}, testConditions)
	r := analyseAs(t, drive{}, cols, plain(), testConditions)
	if r.Loaded != 3 || math.Abs(float64(r.LowestDrop.Value-want.LowestDrop.Value)) > 300 {
		t.Errorf("%d pulls, %+v, with throttle %+v", r.Loaded, r.LowestDrop, want.LowestDrop)
	}
	if proofOf(t, r, "gate").State != Auditor {
		t.Error("nobody is told that throttle is missing")
	}
}

// TestCompare: of models that all meet the lowest point, the right one is the
// nearest along the pull.
func TestCompare(t *testing.T) {
	model := func(f func(mapKPa, flow, volts float64) float64) Predictor {
		return func(p Point) (quantity.Difference, bool) {
			mapKPa := quantity.In(p.Manifold, "kPa")
			flow := quantity.In(p.Speed, "rpm") * mapKPa / (7200 * 291)
			return quantity.Difference(f(mapKPa, flow, float64(p.PumpVoltage)) * 1e5), known(p.Drop)
		}
	}
	models := []Hypothesis{
		{"as planned", model(func(_, _, _ float64) float64 { return testBase })},
		{"relief", model(relief)}, {"worn pump", model(worn)}, {"voltage", model(sagging)},
		{"reference", model(leaking)}, {"offset", model(low)}, {"restriction", model(returnless)},
		{"silent", func(Point) (quantity.Difference, bool) { return 0, false }},
	}
	want := []string{"as planned", "relief", "worn pump", "voltage", "reference", "offset", "restriction"}
	if len(want) != len(logCases) {
		t.Fatal("a log without a model")
	}
	for i, c := range logCases {
		got := Compare(analyse(t, c.drive, testConditions).Worst, models)
		if got[0].Name != want[i] {
			t.Errorf("%s: nearest is %s (%v), want %s", c.name, got[0].Name, got[0].RMS, want[i])
		}
		if got[len(got)-1].Name != "silent" || got[0].Asked == 0 {
			t.Errorf("%s: %+v", c.name, got)
		}
	}
}

// TestMappingIsBound to header and file, and survives JSON.
func TestMappingIsBound(t *testing.T) {
	file := render(drive{pulls: 1, rate: 10}.shots(), columns, plain())
	m := mapping(t, file, columns)
	r, err := Analyse(bytes.NewReader(file), m, testConditions)
	if err != nil {
		t.Fatal(err)
	}
	if len(r.Mapping.SHA256) != 64 {
		t.Fatalf("bound to %q", r.Mapping.SHA256)
	}
	text, err := json.Marshal(r.Mapping)
	if err != nil {
		t.Fatal(err)
	}
	var again Mapping
	if err := json.Unmarshal(text, &again); err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(r.Mapping, again); diff != "" {
		t.Error(diff)
	}
	if _, err := Analyse(bytes.NewReader(file), again, testConditions); err != nil {
		t.Errorf("the same file again: %v", err)
	}
	refuse := func(what, want string, file []byte, m Mapping) {
		t.Helper()
		if _, err := Analyse(bytes.NewReader(file), m, testConditions); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: %v, want %q", what, err, want)
		}
	}
	other := bytes.Replace(file, []byte("13.90"), []byte("13.80"), 1)
	refuse("another file", "bound to another file", other, again)
	if _, err := Analyse(bytes.NewReader(other), again.For(""), testConditions); err != nil {
		t.Errorf("another file of the same header: %v", err)
	}
	refuse("another header", "another header", bytes.Replace(file, []byte("Throttle"), []byte("Pedal"), 1), again.For(""))
	change := func(c Channel, f func(*Column)) Mapping {
		changed := m
		changed.Columns = append([]Column{}, m.Columns...)
		for i := range changed.Columns {
			if changed.Columns[i].Channel == c {
				f(&changed.Columns[i])
			}
		}
		return changed
	}
	for what, test := range map[string]struct {
		want string
		m    Mapping
	}{
		"no unit":          {"has no unit; it could be bar", change(Rail, func(c *Column) { c.Unit = "" })},
		"no sensor":        {"gauge, absolute or sealed", change(Rail, func(c *Column) { c.Sensor = "" })},
		"wrong sensor":     {"is not the unit of a sensor", change(Rail, func(c *Column) { c.Unit, c.Sensor = "kPa abs", Gauge })},
		"no events":        {"injections", change(PulseWidth, func(c *Column) { c.Events = 0 })},
		"ratio, no scale":  {"lambda 1", change(Lambda, func(c *Column) { c.Unit = "AFR" })},
		"unit of another":  {"not a unit of", change(Battery, func(c *Column) { c.Unit = "psi" })},
		"no such channel":  {"not a channel", change(Battery, func(c *Column) { c.Channel = "volts" })},
		"no such column":   {"no column", change(Battery, func(c *Column) { c.Column = "Batt" })},
		"twice":            {"mapped from", change(Battery, func(c *Column) { c.Channel = PumpVoltage })},
		"no time":          {"no column is mapped", change(Time, func(c *Column) { c.Channel = NotUsed })},
		"filter, no unit":  {"filter", change(Rail, func(c *Column) { c.Filter = "0.5" })},
		"unknown sensor":   {"not gauge, absolute or sealed", change(Rail, func(c *Column) { c.Sensor = "vented" })},
		"eleven injection": {"injections", change(PulseWidth, func(c *Column) { c.Events = 11 })},
	} {
		refuse(what, test.want, file, test.m)
	}
}

// TestMixtureScale: 11.76 on a scale of 14.7 is lambda 0.80, whatever fuel is
// in the tank (trade notes: 11.8 = lambda 0.80).
func TestMixtureScale(t *testing.T) {
	cols := append([]column{}, columns...)
	cols[4] = column{"AFR", "AFR", Lambda, "", 0, 4, func(s shot) float64 { return s.lambda * 14.7 }}
	file := render(drive{}.shots(), cols, plain())
	m := mapping(t, file, cols)
	for i := range m.Columns {
		if m.Columns[i].Channel == Lambda {
			m.Columns[i].Stoich = "14.7"
		}
	}
	r, err := Analyse(bytes.NewReader(file), m, testConditions)
	if err != nil {
		t.Fatal(err)
	}
	want := analyse(t, drive{}, testConditions)
	if !want.Lean.Known || math.Abs(float64(r.Lean.Value-want.Lean.Value)) > 1e-4 {
		t.Errorf("lean by %v, in lambda %v", r.Lean, want.Lean)
	}
}

// TestFilter: an average of half a second or more hides what L04 looks for, and
// a filter that nobody knows may be one.
func TestFilter(t *testing.T) {
	file := render(drive{}.shots(), columns, plain())
	for filter, want := range map[string]ProofState{"0 s": Proven, "0.1 s": Proven, "0.5 s": Unproven, "800 ms": Unproven, "": Unproven} {
		m := mapping(t, file, columns)
		for i := range m.Columns {
			if m.Columns[i].Channel == Rail {
				m.Columns[i].Filter = filter
			}
		}
		r, err := Analyse(bytes.NewReader(file), m, testConditions)
		if err != nil {
			t.Fatal(err)
		}
		if got := proofOf(t, r, "filter"); got.State != want {
			t.Errorf("filter %q: %s (%s), want %s", filter, got.State, got.Text, want)
		}
	}
}

// TestPulsation: 0.4 bar each way at 100 Hz is 0.8 bar peak to peak at 2 kHz
// sampling, and unproven at 50 Hz.
func TestPulsation(t *testing.T) {
	pulse := func(at, rpm float64) float64 {
		if rpm < 3000 {
			return 0
		}
		return 0.4 * math.Sin(2*math.Pi*100*at)
	}
	r := analyse(t, drive{rate: 2000, pulls: 1, noise: 0.001, pulse: pulse}, testConditions)
	if got := quantity.In(r.Pulsation.Value, "bar"); !r.Pulsation.Known || math.Abs(got-0.8) > 0.05 {
		t.Errorf("peak to peak %v bar, want 0.8", got)
	}
	if slow := analyse(t, drive{pulse: pulse}, testConditions); slow.Pulsation.Known {
		t.Errorf("pulsation at 50 Hz: %+v", slow.Pulsation)
	}
}
