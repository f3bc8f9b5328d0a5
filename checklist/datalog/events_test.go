package datalog

import (
	"bytes"
	"encoding/json"
	"math"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"feedproof/checklist/datalogtest"
	"feedproof/schema/quantity"
)

// seen analyses a drive and says whether a signature is in it.
func stateOf(t *testing.T, id string, d datalogtest.Drive, cols []datalogtest.Column, c Conditions) State {
	t.Helper()
	r := analyseAs(t, d, cols, datalogtest.Plain(), c)
	s, ok := r.Signature(id)
	if !ok {
		t.Fatalf("no signature %s", id)
	}
	t.Logf("%s %s: %s", s.ID, s.State, s.Text)
	return s.State
}

func inPull(s *datalogtest.Shot) bool { return s.Throttle >= 90 }

// TestEvents: each signature that is an event or of one channel shows when the
// event is put into a log, and does not without it.
func TestEvents(t *testing.T) {
	slosh := func(s *datalogtest.Shot) {
		if in := math.Mod(s.T, 4); s.Throttle == 25 && in < 0.6 {
			s.Lateral = 0.9
			s.Rail -= 0.3
		}
	}
	stage := func(step, current float64) func(*datalogtest.Shot) {
		return func(s *datalogtest.Shot) {
			if inPull(s) && s.RPM > 5000 {
				s.Stage = 1
				s.Rail += step
				s.Current += current
			}
		}
	}
	cols := datalogtest.With(datalogtest.Duty, datalogtest.Stage, datalogtest.Lateral)
	tests := []struct {
		id    string
		with  datalogtest.Drive
		other datalogtest.Drive
	}{
		{"S07", datalogtest.Drive{Mutate: slosh}, datalogtest.Drive{Mutate: func(s *datalogtest.Shot) {
			if in := math.Mod(s.T, 4); s.Throttle == 25 && in < 0.6 {
				s.Lateral = 0.9 // cornering without a dip
			}
		}}},
		{"S08", datalogtest.Drive{WarmByPull: 8, Mutate: func(s *datalogtest.Shot) {
			if inPull(s) {
				s.Rail -= max(0, s.FuelT-30) * 0.01
			}
		}}, datalogtest.Drive{WarmByPull: 8}},
		{"S09", datalogtest.Drive{Mutate: func(s *datalogtest.Shot) {
			if inPull(s) {
				s.Rail += 0.08 * math.Sin(s.T*s.T*991) // no one frequency
			}
		}}, datalogtest.Drive{}},
		{"S11", datalogtest.Drive{Mutate: stage(0.25, 8)}, datalogtest.Drive{Mutate: stage(0, 8)}},
		{"S12", datalogtest.Drive{Mutate: stage(0, 0)}, datalogtest.Drive{Mutate: stage(0, 8)}},
		{"S13", datalogtest.Drive{Mutate: func(s *datalogtest.Shot) {
			if inPull(s) {
				s.PW *= 0.8 + 0.7*s.RPM/7200
			}
		}}, datalogtest.Drive{}},
		{"S14", datalogtest.Drive{Mutate: func(s *datalogtest.Shot) {
			if inPull(s) {
				s.Lambda = 0.8
			}
		}}, datalogtest.Drive{}},
		{"S15", datalogtest.Drive{Mutate: func(s *datalogtest.Shot) {
			if s.RPM > 0 {
				s.Rail = 4
			}
		}}, datalogtest.Drive{}},
		{"S16", datalogtest.Drive{Mutate: func(s *datalogtest.Shot) { s.MAP += 5 }}, datalogtest.Drive{}},
		{"S17", datalogtest.Drive{Mutate: func(s *datalogtest.Shot) {
			if s.T > 30 {
				s.Ethanol = 62
			}
		}}, datalogtest.Drive{}},
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
	bare := []datalogtest.Column{datalogtest.Columns[0]} // engine speed alone
	r := analyseAs(t, datalogtest.Drive{}, bare, datalogtest.Plain(), Conditions{})
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
		if len(unproven(r, limit)) == 0 {
			t.Errorf("%s is not unproven in a log of engine speed alone", limit)
		}
	}
}

// TestContradiction is T009 of the trade notes: 11.7 ms at 7200 rpm is 70.2 %,
// and the log says 47 %.
func TestContradiction(t *testing.T) {
	cols := datalogtest.With(datalogtest.Duty)
	r := analyseAs(t, datalogtest.Drive{Mutate: func(s *datalogtest.Shot) {
		if inPull(s) {
			s.RPM, s.PW, s.Duty = 7200, 11.7, 47
		}
	}}, cols, datalogtest.Plain(), testConditions)
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
	file := datalogtest.Render(datalogtest.Drive{}.Shots(), datalogtest.Columns, datalogtest.Plain())
	m := mapping(t, file, datalogtest.Columns)
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
		as := func(sensor Sensor) datalogtest.Column {
			return datalogtest.Column{Name: "Fuel Pressure", Unit: "kPa", Channel: string(Rail), Sensor: string(sensor), Decimals: 3, Of: func(s datalogtest.Shot) float64 {
				gauge := s.Drop*100 + s.MAP - barometer
				switch sensor {
				case Absolute:
					return gauge + barometer
				case Sealed:
					return gauge + barometer - 101.325
				}
				return gauge
			}}
		}
		d := datalogtest.Drive{Mutate: func(s *datalogtest.Shot) { s.Baro = barometer }}
		var lowest []float64
		for _, sensor := range []Sensor{Gauge, Absolute, Sealed} {
			cols := append([]datalogtest.Column{}, datalogtest.Columns...)
			cols[2] = as(sensor)
			r := analyseAs(t, d, cols, datalogtest.Plain(), testConditions)
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
	r := analyse(t, datalogtest.Drive{}, testConditions)
	if !r.PumpStop.Known || r.PumpStop.Never || math.Abs(float64(r.PumpStop.After)-1) > 0.05 {
		t.Errorf("stops after 1 s: %+v", r.PumpStop)
	}
	long := datalogtest.Drive{StillPump: true, Mutate: func(s *datalogtest.Shot) {
		if s.T >= datalogtest.IdleEnd+3*15-2 {
			s.RPM = 0 // stopped 6 s before the end
		}
	}}
	if r := analyse(t, long, testConditions); !r.PumpStop.Never {
		t.Errorf("never stops: %+v", r.PumpStop)
	}
}

// TestShiftIsIgnored: a dip in the 0.3 s after a shift does not count, the same
// dip later does.
func TestShiftIsIgnored(t *testing.T) {
	dip := func(from, to float64) datalogtest.Drive {
		return datalogtest.Drive{Pulls: 1, Mutate: func(s *datalogtest.Shot) {
			in := s.T - datalogtest.IdleEnd - 6
			if in > 4 && in < 4.25 {
				s.Throttle = 20 // the shift
			}
			if in > from && in < to {
				s.Rail -= 0.4
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
	if at := float64(later.LowestDrop.At) - datalogtest.IdleEnd - 6; at < 5.2 || at > 5.6 {
		t.Errorf("the dip from 5.0 to 5.5 s is put at %v", at)
	}
}

// TestMultiRate: slow channels blank in most rows, fast ones not.
func TestMultiRate(t *testing.T) {
	as := datalogtest.Plain()
	as.SlowEvery = 10
	want := analyse(t, datalogtest.Drive{}, testConditions)
	r := analyseAs(t, datalogtest.Drive{}, datalogtest.Columns, as, testConditions)
	if r.Loaded != want.Loaded || r.LowestDrop != want.LowestDrop || r.Duty != want.Duty {
		t.Errorf("%d pulls, %+v, %+v; all filled %+v", r.Loaded, r.LowestDrop, r.Duty, want.LowestDrop)
	}
	if math.Abs(float64(r.PumpVoltage.Value-want.PumpVoltage.Value)) > 0.05 || !r.Temperature.Known {
		t.Errorf("slow channels: %+v %+v", r.PumpVoltage, r.Temperature)
	}
}

// TestNoThrottle: pulls are found from manifold pressure.
func TestNoThrottle(t *testing.T) {
	var cols []datalogtest.Column
	for _, c := range datalogtest.Columns {
		if Channel(c.Channel) != Throttle {
			cols = append(cols, c)
		}
	}
	want := analyse(t, datalogtest.Drive{}, testConditions)
	r := analyseAs(t, datalogtest.Drive{}, cols, datalogtest.Plain(), testConditions)
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
	var models []Hypothesis
	for _, f := range datalogtest.Faults() {
		models = append(models, Hypothesis{string(f), model(faulty(f).Across)})
	}
	models = append(models, Hypothesis{"silent", func(Point) (quantity.Difference, bool) { return 0, false }})
	for _, c := range logCases {
		points := analyse(t, c.drive, testConditions).Worst
		got := Compare(points, models)
		// At the volts of the log a healthy pump and one on a bad wire are one model.
		if first := got[0].Name; first != string(c.fault) && !(c.fault == datalogtest.VoltageSag && first == string(datalogtest.Healthy)) {
			t.Errorf("%s: nearest is %s (%v)", c.fault, first, got[0].RMS)
		}
		if got[len(got)-1].Name != "silent" || got[0].Asked == 0 {
			t.Errorf("%s: %+v", c.fault, got)
		}
	}
}

// TestMappingIsBound to header and file, and survives JSON.
func TestMappingIsBound(t *testing.T) {
	file := datalogtest.Render(datalogtest.Drive{Pulls: 1, Rate: 10}.Shots(), datalogtest.Columns, datalogtest.Plain())
	m := mapping(t, file, datalogtest.Columns)
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
	cols := append([]datalogtest.Column{}, datalogtest.Columns...)
	cols[4] = datalogtest.Column{Name: "AFR", Unit: "AFR", Channel: string(Lambda), Decimals: 4, Of: func(s datalogtest.Shot) float64 { return s.Lambda * 14.7 }}
	file := datalogtest.Render(datalogtest.Drive{}.Shots(), cols, datalogtest.Plain())
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
	want := analyse(t, datalogtest.Drive{}, testConditions)
	if !want.Lean.Known || math.Abs(float64(r.Lean.Value-want.Lean.Value)) > 1e-4 {
		t.Errorf("lean by %v, in lambda %v", r.Lean, want.Lean)
	}
}

// TestFilter: an average of half a second or more hides what L04 looks for, and
// a filter that nobody knows may be one.
func TestFilter(t *testing.T) {
	file := datalogtest.Render(datalogtest.Drive{}.Shots(), datalogtest.Columns, datalogtest.Plain())
	for filter, want := range map[string]ProofState{"0 s": Proven, "0.1 s": Proven, "0.5 s": Unproven, "800 ms": Unproven, "": Unproven} {
		m := mapping(t, file, datalogtest.Columns)
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
	r := analyse(t, datalogtest.Drive{Rate: 2000, Pulls: 1, Noise: 0.001, Pulse: pulse}, testConditions)
	if got := quantity.In(r.Pulsation.Value, "bar"); !r.Pulsation.Known || math.Abs(got-0.8) > 0.05 {
		t.Errorf("peak to peak %v bar, want 0.8", got)
	}
	if slow := analyse(t, datalogtest.Drive{Pulse: pulse}, testConditions); slow.Pulsation.Known {
		t.Errorf("pulsation at 50 Hz: %+v", slow.Pulsation)
	}
}

// TestGaugeManifoldInRange: a gauge sensor that shows vacuum is within what an
// absolute pressure can be, and 5 bar of boost is not.
func TestGaugeManifoldInRange(t *testing.T) {
	cols := append([]datalogtest.Column{}, datalogtest.Columns...)
	cols[1].Sensor = string(Gauge)
	cols[1].Of = func(s datalogtest.Shot) float64 { return s.MAP - datalogtest.Barometer }
	if p := proofOf(t, analyseAs(t, datalogtest.Drive{}, cols, datalogtest.Plain(), testConditions), "range"); p.State != Proven {
		t.Errorf("vacuum: %+v", p)
	}
	cols[1].Of = func(s datalogtest.Shot) float64 { return s.MAP - datalogtest.Barometer + 400 }
	if p := proofOf(t, analyseAs(t, datalogtest.Drive{}, cols, datalogtest.Plain(), testConditions), "range"); p.State != Auditor {
		t.Errorf("5 bar: %+v", p)
	}
}
