package datalog

import (
	"bytes"
	"fmt"
	"math"
	"math/rand/v2"
	"strconv"
	"strings"
	"testing"
	"unicode/utf16"

	"feedproof/schema/quantity"
)

// The logs of these tests are invented: they are regression data and prove
// nothing about an engine. The car is a 2.0 L 4-cylinder turbo of 400 kW with
// a referenced regulator of 3.0 bar and four injectors of 1300 cc/min.

const (
	testBaro   = 101.3 // kPa
	testBase   = 3.0   // bar
	testDead   = 0.95  // ms
	testTarget = 0.80
	fullDuty   = 64.5 // % effective at 7200 rpm and 291 kPa
)

// shot is one moment of an invented drive, in a workshop's units.
type shot struct {
	t                                                    float64 // s
	rpm, mapKPa, rail, pw, lambda, target, batt, pump    float64
	throttle, fuelT, ethanol, baro, duty, current, stage float64
	level, lat, command, drop                            float64
}

// drive invents a log. fault turns manifold kPa abs, flow as a share of the
// highest and pump volts into bar across the injectors.
type drive struct {
	rate       float64
	pulls      int
	pullTime   float64
	noise      float64 // bar
	seed       uint64
	fault      func(mapKPa, flow, volts float64) float64
	volts      func(rpm float64) float64
	startAt    float64 // drop what is before this time
	endAt      float64 // and after this, when it is not 0
	pulse      func(t float64, rpm float64) float64
	stillPump  bool // the pump keeps running at the end
	mutate     func(*shot)
	warmByPull float64
	cruise     float64 // s before each pull
	base       float64 // bar, hose off
	boost      float64 // manifold kPa at the top, as a share of 291
	quantum    float64 // bar, resolution of the rail sensor
}

// boost is the path of the trade notes' logs: rpm, manifold kPa.
var boost = [][2]float64{{3000, 160}, {3500, 240}, {4000, 285}, {5000, 291}, {7200, 291}}

func interpolate(table [][2]float64, x float64) float64 {
	for i := 1; i < len(table); i++ {
		if a, b := table[i-1], table[i]; x <= b[0] {
			return a[1] + (b[1]-a[1])*(x-a[0])/(b[0]-a[0])
		}
	}
	return table[len(table)-1][1]
}

func healthyVolts(rpm float64) float64 { return 13.5 - 0.2*(rpm-3000)/4200 }

func saggingVolts(rpm float64) float64 {
	return interpolate([][2]float64{{3000, 13.4}, {3500, 13.2}, {4000, 12.9}, {5000, 12.5}, {6000, 12.2}, {7000, 12.0}, {7200, 12.0}}, rpm)
}

// Times of the parts of a drive, s.
const (
	keyOnEnd   = 2.0
	hoseOffEnd = 12.0
	idleEnd    = 16.0
	coastTime  = 2.0
)

func (d drive) defaults() drive {
	if d.rate == 0 {
		d.rate = 50
	}
	if d.pulls == 0 {
		d.pulls = 3
	}
	if d.pullTime == 0 {
		d.pullTime = 7
	}
	if d.cruise == 0 {
		d.cruise = 6
	}
	if d.base == 0 {
		d.base = testBase
	}
	if d.boost == 0 {
		d.boost = 1
	}
	if d.noise == 0 {
		d.noise = 0.01
	}
	if d.fault == nil {
		d.fault = func(_, _, _ float64) float64 { return testBase }
	}
	if d.volts == nil {
		d.volts = healthyVolts
	}
	return d
}

func (d drive) shots() []shot {
	d = d.defaults()
	random := rand.New(rand.NewPCG(d.seed, 7))
	cycle := d.cruise + d.pullTime + coastTime
	end := idleEnd + float64(d.pulls)*cycle + 4
	var out []shot
	for i := 0; ; i++ {
		t := float64(i) / d.rate
		if t >= end || d.endAt > 0 && t > d.endAt {
			return out
		}
		s := d.at(t, end, cycle, random)
		if d.mutate != nil {
			d.mutate(&s)
		}
		if t >= d.startAt {
			out = append(out, s)
		}
	}
}

// at is the drive at a time.
func (d drive) at(t, end, cycle float64, random *rand.Rand) shot {
	s := shot{t: t, target: 1, batt: 13.9, fuelT: 30, ethanol: 10, baro: testBaro, level: 30, command: 60, mapKPa: 40, rpm: 900}
	hoseOff, off := false, false
	switch in := math.Mod(t-idleEnd, cycle); {
	case t < keyOnEnd:
		s.rpm, s.mapKPa, off = 0, testBaro, true
	case t < hoseOffEnd:
		hoseOff = true
	case t < idleEnd:
	case t >= end-4:
		s.rpm, s.mapKPa, off = 0, testBaro, t >= end-3
	case in < d.cruise:
		s.rpm, s.mapKPa, s.throttle = 2600, 90, 25
	case in < d.cruise+d.pullTime:
		s.rpm = 3000 + 4200*(in-d.cruise)/d.pullTime
		s.mapKPa, s.throttle, s.target = d.boost*interpolate(boost, s.rpm), 100, testTarget
	default:
		s.rpm, s.mapKPa = 6000-1500*(in-d.cruise-d.pullTime), 35
	}
	if pull := int((t - idleEnd) / cycle); t > idleEnd {
		s.fuelT += d.warmByPull * float64(min(pull, d.pulls-1))
	}
	d.fill(&s, hoseOff, off, random)
	return s
}

func (d drive) fill(s *shot, hoseOff, off bool, random *rand.Rand) {
	flow := s.rpm * s.mapKPa / (7200 * 291 * d.boost)
	s.pump = d.volts(max(s.rpm, 3000))
	drop := d.fault(s.mapKPa, flow, s.pump)
	switch {
	case off && !d.stillPump:
		s.rail, s.pump, s.command, s.current = 0, 0, 0, 0
	case hoseOff:
		drop = d.base + (testBaro-s.mapKPa)/100
		s.rail, s.current = d.base, 9
	default:
		s.rail, s.current = drop+(s.mapKPa-testBaro)/100, 9+5*flow
	}
	if d.pulse != nil {
		s.rail += d.pulse(s.t, s.rpm)
	}
	s.rail += d.noise * random.NormFloat64()
	if d.quantum > 0 {
		s.rail = math.Round(s.rail/d.quantum) * d.quantum
	}
	s.mapKPa += 0.2 * random.NormFloat64()
	s.lambda = s.target*math.Sqrt(d.base/max(drop, 0.1)) + 0.003*random.NormFloat64()
	if s.rpm > 0 {
		s.duty = fullDuty*flow + testDead*s.rpm/1200
		s.pw = s.duty * 1200 / s.rpm
	}
	s.drop = s.rail - (s.mapKPa-testBaro)/100
}

// Faults of the trade notes' logs A to G, as the physics behind their numbers.
func relief(mapKPa, _, _ float64) float64 {
	return min(testBase, 4.55-(mapKPa-testBaro)/100)
}

func worn(_, flow, _ float64) float64 { return testBase - max(0, flow-0.955)*2.2 }

func sagging(_, _, volts float64) float64 {
	return testBase - max(0, 12.21-volts)*1.2
}

func leaking(mapKPa, _, _ float64) float64 { return testBase - 0.0015*(mapKPa-testBaro) }

func low(_, _, _ float64) float64 { return testBase - 0.3 }

func returnless(_, flow, _ float64) float64 { return testBase - 0.36*flow*flow }

// column is one column of a test log.
type column struct {
	name, unit string
	channel    Channel
	sensor     Sensor
	events     int
	decimals   int
	of         func(shot) float64
}

var columns = []column{
	{"Engine Speed", "rpm", EngineSpeed, "", 0, 0, func(s shot) float64 { return s.rpm }},
	{"MAP", "kPa", Manifold, Absolute, 0, 2, func(s shot) float64 { return s.mapKPa }},
	{"Fuel Pressure", "bar", Rail, Gauge, 0, 4, func(s shot) float64 { return s.rail }},
	{"Injector PW", "ms", PulseWidth, "", 1, 3, func(s shot) float64 { return s.pw }},
	{"Lambda", "lambda", Lambda, "", 0, 4, func(s shot) float64 { return s.lambda }},
	{"Lambda Target", "lambda", LambdaTarget, "", 0, 3, func(s shot) float64 { return s.target }},
	{"Battery", "V", Battery, "", 0, 2, func(s shot) float64 { return s.batt }},
	{"Pump Voltage", "V", PumpVoltage, "", 0, 2, func(s shot) float64 { return s.pump }},
	{"Throttle", "%", Throttle, "", 0, 1, func(s shot) float64 { return s.throttle }},
	{"Fuel Temp", "degC", FuelTemp, "", 0, 1, func(s shot) float64 { return s.fuelT }},
	{"Ethanol", "%", Ethanol, "", 0, 1, func(s shot) float64 { return s.ethanol }},
	{"Baro", "kPa", Barometer, Absolute, 0, 1, func(s shot) float64 { return s.baro }},
	{"Pump Current", "A", PumpCurrent, "", 0, 2, func(s shot) float64 { return s.current }},
	{"Fuel Level", "L", FuelLevel, "", 0, 1, func(s shot) float64 { return s.level }},
}

func with(extra ...column) []column { return append(append([]column{}, columns...), extra...) }

var (
	dutyColumn    = column{"Injector Duty", "%", LoggedDuty, "", 0, 2, func(s shot) float64 { return s.duty }}
	stageColumn   = column{"Pump 2", "state", SecondStage, "", 0, 0, func(s shot) float64 { return s.stage }}
	lateralColumn = column{"Lateral G", "g", Lateral, "", 0, 2, func(s shot) float64 { return s.lat }}
	dropColumn    = column{"Fuel Delta P", "bar", LoggedDrop, "", 0, 3, func(s shot) float64 { return s.drop }}
)

// dialect is how a logger writes.
type dialect struct {
	name      string
	delim     string
	comma     bool   // decimal comma
	units     string // "row", "brackets", "" none
	preamble  string
	eol       string
	quoted    bool
	time      func(float64) string
	timeUnit  string
	encode    func(string) []byte
	slowEvery int // columns after the sixth are blank but every n-th row
}

func plain() dialect {
	return dialect{name: "plain", delim: ",", units: "row", eol: "\n", timeUnit: "s"}
}

func seconds(t float64) string { return strconv.FormatFloat(t, 'f', 4, 64) }

// render writes the shots in a dialect.
func render(shots []shot, cols []column, d dialect) []byte {
	var b bytes.Buffer
	b.WriteString(d.preamble)
	names, units := []string{"Time"}, []string{d.timeUnit}
	for _, c := range cols {
		names, units = append(names, c.name), append(units, c.unit)
	}
	if d.units == "brackets" {
		for i := range names {
			if units[i] != "" {
				names[i] += " [" + units[i] + "]"
			}
		}
	}
	row := func(cells []string) {
		if d.quoted {
			for i := range cells {
				cells[i] = `"` + strings.ReplaceAll(cells[i], `"`, `""`) + `"`
			}
		}
		b.WriteString(strings.Join(cells, d.delim) + d.eol)
	}
	row(names)
	if d.units == "row" {
		row(units)
	}
	if d.time == nil {
		d.time = seconds
	}
	for i, s := range shots {
		cells := []string{d.time(s.t)}
		for j, c := range cols {
			cell := strconv.FormatFloat(c.of(s), 'f', c.decimals, 64)
			if d.slowEvery > 0 && j > 5 && i%d.slowEvery != 0 {
				cell = ""
			}
			cells = append(cells, cell)
		}
		if d.comma {
			for i := range cells {
				cells[i] = strings.Replace(cells[i], ".", ",", 1)
			}
		}
		row(cells)
	}
	if d.encode != nil {
		return d.encode(b.String())
	}
	return b.Bytes()
}

func utf16le(s string) []byte {
	out := []byte{0xff, 0xfe}
	for _, u := range utf16.Encode([]rune(s)) {
		out = append(out, byte(u), byte(u>>8))
	}
	return out
}

// mapping proposes the mapping of a file and fills in what a person would say.
func mapping(t testing.TB, file []byte, cols []column) Mapping {
	t.Helper()
	p, err := Propose(bytes.NewReader(file))
	if err != nil {
		t.Fatal(err)
	}
	m := asSaid(p, cols)
	if len(m.Columns) != len(cols)+1 {
		t.Fatalf("%d of %d columns found in %v", len(m.Columns), len(cols)+1, p.Guesses)
	}
	return m
}

func asSaid(p Proposal, cols []column) Mapping {
	m := Mapping{Header: p.Mapping.Header}
	for _, g := range p.Guesses {
		if strings.HasPrefix(g.Column, "Time") {
			unit := g.Unit
			if unit == "" {
				unit = "s"
			}
			m.Columns = append(m.Columns, Column{Column: g.Column, Channel: Time, Unit: unit})
			continue
		}
		for _, c := range cols {
			if g.Column == c.name || strings.HasPrefix(g.Column, c.name+" [") {
				m.Columns = append(m.Columns, Column{Column: g.Column, Channel: c.channel, Unit: c.unit, Sensor: c.sensor, Events: c.events, Filter: "0 s"})
			}
		}
	}
	return m
}

var testConditions = Conditions{
	Cylinders: 4, Charger: No,
	HoseOff: Span{quantity.Duration(keyOnEnd + 0.5), quantity.Duration(hoseOffEnd - 0.5)},
}

func analyse(t testing.TB, d drive, c Conditions) Result {
	t.Helper()
	return analyseAs(t, d, columns, plain(), c)
}

func analyseAs(t testing.TB, d drive, cols []column, as dialect, c Conditions) Result {
	t.Helper()
	file := render(d.shots(), cols, as)
	r, err := Analyse(bytes.NewReader(file), mapping(t, file, cols), c)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func describe(r Result) string {
	var b strings.Builder
	for _, s := range r.Signatures {
		fmt.Fprintf(&b, "  %s %-12s %s: %s\n", s.ID, s.State, s.Name, s.Text)
	}
	for _, p := range r.Proofs {
		if p.State != Proven {
			fmt.Fprintf(&b, "  %s %s: %s %v\n", p.State, p.Check, p.Text, p.Limits)
		}
	}
	return b.String()
}

func asDuration(s float64) quantity.Duration { return quantity.Duration(s) }
