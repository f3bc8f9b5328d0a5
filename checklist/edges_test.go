package checklist_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"feedproof/checklist"
	"feedproof/schema"
)

// edge is one numeric limit: a value a step inside it, exactly on it and a step
// outside, with the severity of each. Limits are those of the trade's table;
// source: common practice.
type edge struct {
	rule   string
	what   string
	values [3]float64
	want   [3]schema.Severity
	set    func(x float64) []edit
	also   []string // other rules that the same value trips
}

const (
	ok       = schema.OK
	flag     = schema.Flag
	unproven = schema.Unproven
	hold     = schema.Hold
	block    = schema.Block
	stop     = schema.Stop
)

// TestLimits reads every limit with instruments of no uncertainty: on a limit
// is inside it.
func TestLimits(t *testing.T) {
	tryLimits(t, "clean", slices.Concat(pressureEdges, electricalEdges, cautionEdges, otherEdges, flowTestEdges, tankEdges, planEdges(t), furtherEdges(t)))
}

// TestCarburettorLimits does the same for the limits of a carburettor car.
func TestCarburettorLimits(t *testing.T) { tryLimits(t, "carburettor", carburettorEdges) }

func tryLimits(t *testing.T, base string, edges []edge) {
	for _, e := range edges {
		for i, place := range []string{"inside", "on", "outside"} {
			t.Run(fmt.Sprintf("%s/%s %g %s", e.rule, place, e.values[i], e.what), func(t *testing.T) {
				t.Parallel()
				s := loadBase(t, base)
				ideal(t, s)
				s.apply(t, e.set(e.values[i])...)
				b := s.build(t)
				judgedAs(t, e.rule, e.want[i], e.also, checklist.Evaluate(b.record, b.shop, b.moment))
			})
		}
	}
}

// judgedAs holds the heaviest finding of a rule to a severity, and all others
// under FLAG.
func judgedAs(t *testing.T, rule string, want schema.Severity, also []string, found []schema.Finding) {
	t.Helper()
	worst, said := schema.OK, 0
	for _, f := range found {
		switch {
		case f.Rule == rule:
			worst = max(worst, f.Severity)
			said++
		case f.Severity > schema.Note && !slices.Contains(also, f.Rule):
			t.Errorf("another rule fires:%s", told([]schema.Finding{f}))
		}
	}
	if worst != want {
		t.Errorf("%s is %s, want %s:%s", rule, worst, want, told(found))
	}
	if said == 0 && want > schema.OK {
		t.Errorf("%s says nothing", rule)
	}
}

// ideal gives every gauge no uncertainty to speak of, and writes every reading
// out to as many figures.
func ideal(t helper, s *situation) {
	t.Helper()
	s.own()
	for id, list := range s.gauges {
		for _, field := range []string{"accuracy", "resolution"} {
			if d, ok := (*list)[0].Data[field].(map[string]any); ok && id != "GM1" {
				d["value"] = "0.000000000001"
			}
		}
	}
	for _, c := range s.entries {
		if c.Kind != "reading" {
			continue
		}
		for _, v := range c.Data["values"].([]any) {
			if value, ok := v.(map[string]any)["value"].(string); ok {
				v.(map[string]any)["value"] = padded(value)
			}
		}
	}
}

func padded(value string) string {
	if !strings.Contains(value, ".") {
		value += "."
	}
	return value + "0000000000"
}

// num writes a number out to twelve decimals.
func num(x float64) string { return fmt.Sprintf("%.12f", x) }

func change(entry string, pairs ...any) edit {
	e := edit{Entry: entry, Set: map[string]any{}}
	for i := 0; i < len(pairs); i += 2 {
		value := pairs[i+1]
		if f, ok := value.(float64); ok {
			value = num(f)
		}
		e.Set["/values/"+pairs[i].(string)+"/value"] = value
	}
	return e
}

func one(entry, value string) func(float64) []edit {
	return func(x float64) []edit { return []edit{change(entry, value, x)} }
}

func slopes(low, span, slope float64) []edit {
	point := func(m float64) []any {
		return []any{
			map[string]any{"name": "manifold", "value": num(m), "unit": "kPa abs", "gauge": "MG1"},
			map[string]any{"name": "rail", "value": num(3 + slope*(m-low)/100), "unit": "bar", "gauge": "PG1"},
		}
	}
	return []edit{{Entry: "slope", Set: map[string]any{"/values": append(point(low), point(low+span)...)}}}
}

func slopeOf(x float64) []edit { return slopes(100, 200, x) }

// hose makes the rail fall by the vacuum of 0.65 bar and so much more.
func hose(x float64) []edit { return []edit{change("idle", "off", 3.0, "on", 3.0-0.65-x)} }

func lost(x float64) []edit { return []edit{change("supply", "source", 13.4+x, "pump", 13.4)} }

func pumpVolts(x float64) []edit { return []edit{change("supply", "source", x+0.4, "pump", x)} }

var pressureEdges = []edge{
	{"L05", "slope", [3]float64{1.0299, 1.03, 1.0301}, [3]schema.Severity{ok, ok, flag}, slopeOf, nil},
	{"L05", "slope", [3]float64{1.0599, 1.06, 1.0601}, [3]schema.Severity{flag, flag, hold}, slopeOf, nil},
	{"L05", "slope", [3]float64{0.9701, 0.97, 0.9699}, [3]schema.Severity{ok, ok, flag}, slopeOf, nil},
	{"L05", "slope", [3]float64{0.9401, 0.94, 0.9399}, [3]schema.Severity{flag, flag, hold}, slopeOf, nil},
	{"L05", "slope", [3]float64{0.801, 0.80, 0.799}, [3]schema.Severity{hold, hold, block}, slopeOf, nil},
	{"L05", "bar of the middle of three points, of which a third is the line's", [3]float64{0.0749, 0.075, 0.0751}, [3]schema.Severity{ok, ok, flag}, sticking, nil},
	{"L05", "kPa of span", [3]float64{100.1, 100, 99.9}, [3]schema.Severity{ok, ok, unproven}, func(x float64) []edit { return slopes(100, x, 1) }, nil},
	{"L06", "bar over", [3]float64{0.069, 0.07, 0.071}, [3]schema.Severity{ok, ok, flag}, func(x float64) []edit { return one("base", "rail")(3 + x) }, nil},
	{"L06", "bar over", [3]float64{0.139, 0.14, 0.141}, [3]schema.Severity{flag, flag, hold}, func(x float64) []edit { return one("base", "rail")(3 + x) }, nil},
	{"L06", "bar under", [3]float64{0.069, 0.07, 0.071}, [3]schema.Severity{ok, ok, flag}, func(x float64) []edit { return one("base", "rail")(3 - x) }, nil},
	{"L06", "bar under", [3]float64{0.139, 0.14, 0.141}, [3]schema.Severity{flag, flag, hold}, func(x float64) []edit { return one("base", "rail")(3 - x) }, nil},
	{"L07", "bar fallen", [3]float64{0.349, 0.35, 0.351}, [3]schema.Severity{ok, ok, flag}, func(x float64) []edit { return one("leak-down", "end")(3 - x) }, nil},
	{"L07", "bar fallen", [3]float64{0.699, 0.70, 0.701}, [3]schema.Severity{flag, flag, hold}, func(x float64) []edit { return one("leak-down", "end")(3 - x) }, nil},
	{"L07", "min", [3]float64{5.01, 5, 4.99}, [3]schema.Severity{ok, ok, unproven}, one("leak-down", "time"), nil},
	{"L26", "bar too far", [3]float64{0.0499, 0.05, 0.0501}, [3]schema.Severity{ok, ok, flag}, hose, nil},
	{"L26", "bar too far", [3]float64{0.099, 0.10, 0.101}, [3]schema.Severity{flag, flag, hold}, hose, nil},
	{"L26", "bar too far", [3]float64{-0.0499, -0.05, -0.0501}, [3]schema.Severity{ok, ok, flag}, hose, nil},
	{"L26", "bar too far", [3]float64{-0.099, -0.10, -0.101}, [3]schema.Severity{flag, flag, hold}, hose, nil},
	{"L26", "bar of vacuum and no fall", [3]float64{0.0999, 0.1, 0.1001}, [3]schema.Severity{flag, flag, block}, func(x float64) []edit {
		return []edit{change("idle", "off", 3.0, "on", 3.0, "manifold", 101.3-100*x)}
	}, nil},
	{"L26", "bar too far", [3]float64{-0.649, -0.65, -0.66}, [3]schema.Severity{hold, block, block}, hose, nil},
	{"V-06", "bar", [3]float64{4.201, 4.2, 4.199}, [3]schema.Severity{ok, ok, unproven}, one("last leak", "pressure"), nil},
}

var electricalEdges = []edge{
	{"L10", "V", [3]float64{0.499, 0.5, 0.501}, [3]schema.Severity{ok, ok, flag}, lost, nil},
	{"L10", "V", [3]float64{0.99, 1.0, 1.01}, [3]schema.Severity{flag, flag, hold}, lost, nil},
	{"L10", "V", [3]float64{1.49, 1.5, 1.51}, [3]schema.Severity{hold, hold, block}, lost, nil},
	{"L10b", "V", [3]float64{13.01, 13, 12.99}, [3]schema.Severity{ok, ok, flag}, pumpVolts, lessThanTheFlowTest},
	{"L10b", "V", [3]float64{12.51, 12.5, 12.49}, [3]schema.Severity{flag, flag, hold}, pumpVolts, lessThanTheFlowTest},
	{"L11", "V", [3]float64{0.199, 0.2, 0.201}, [3]schema.Severity{ok, ok, flag}, one("supply", "ground"), nil},
	{"L11", "V", [3]float64{0.299, 0.3, 0.301}, [3]schema.Severity{flag, flag, hold}, one("supply", "ground"), nil},
	{"L12", "x the current", [3]float64{1.251, 1.25, 1.249}, [3]schema.Severity{ok, ok, flag}, fuseOver, nil},
	{"L12", "x the current", [3]float64{1.101, 1.1, 1.099}, [3]schema.Severity{flag, flag, hold}, fuseOver, nil},
	// From 12.0 A on 20 A is the next standard size at or above 1.25 times the current.
	{"L12", "x the current", [3]float64{1.666, 20.0 / 12.0000001, 1.668}, [3]schema.Severity{ok, ok, flag}, fuseOver, nil},
	{"L12", "x the current, 25 A", [3]float64{1.599, 1.6, 1.601}, [3]schema.Severity{ok, ok, flag}, func(x float64) []edit {
		return append(planSet("/wiring/fuse", "25", "A"), one("supply", "current")(25/x)...)
	}, nil},
	{"L12", "x the current", [3]float64{1.999, 2, 2.001}, [3]schema.Severity{flag, flag, hold}, fuseOver, nil},
	{"L12", "A of ampacity", [3]float64{20.1, 20, 19.9}, [3]schema.Severity{ok, ok, block}, func(x float64) []edit {
		return []edit{{Entry: "plan", Set: map[string]any{"/wiring/ampacity/value": num(x)}}}
	}, nil},
}

// lessThanTheFlowTest is what volts lower than those of the timed flow take
// away beside: its proof of reserve.
var lessThanTheFlowTest = []string{"L04c"}

// fuseOver makes the 20 A fuse so many times the current.
func fuseOver(x float64) []edit { return one("supply", "current")(20 / x) }

// openedAgain opens a joint once more at the end, properly; the untested joint
// is then V-06's.
func openedAgain(edits ...edit) []edit {
	value := func(name, value, unit, gauge string) map[string]any {
		v := map[string]any{"name": name, "value": value, "unit": unit}
		if gauge != "" {
			v["gauge"] = gauge
		}
		return v
	}
	add := func(name, kind, at string, data map[string]any) edit {
		return edit{Add: &compact{Name: name, Kind: kind, By: "tech-1", At: at, Data: data}}
	}
	return append([]edit{
		add("gas late", "reading", "+1604m", map[string]any{"test": "gas", "values": []any{
			value("floor", "0.0", "% LEL", "GM1"), value("work", "0.0", "% LEL", "GM1"), value("oxygen", "20.9", "%", "")}}),
		add("zero late", "reading", "+1606m", map[string]any{"test": "zero", "values": []any{value("rail", "0.00", "bar", "PG1")}}),
		add("HP2 late", "holdpoint", "+1608m", map[string]any{"point": "HP2", "action": "close"}),
		add("opening late", "step", "+1610m", map[string]any{"step": "B12", "state": "done", "joint": "feed at the rail"}),
		add("K02 late", "caution", "+1611m", map[string]any{"caution": "K02", "state": "met", "proof": "bay walked again, photo 21"}),
		add("K04 late", "caution", "+1611m", map[string]any{"caution": "K04", "state": "met", "proof": "extinguishers 3 and 4 looked at again, photo 22"}),
		add("K15 late", "caution", "+1611m", map[string]any{"caution": "K15", "state": "met", "proof": "gloves, goggles, overall"}),
		add("K19 late", "caution", "+1611m", map[string]any{"caution": "K19", "state": "met", "proof": "tech-2 stands by, nobody under the car", "persons": []any{"tech-1", "tech-2"}}),
	}, edits...)
}

// gasLate is the reading that the factor of 2 makes so many % LEL.
func gasLate(x float64) []edit { return openedAgain(change("gas late", "floor", x/2)) }

func gasAge(minutes float64) []edit {
	return openedAgain(edit{Entry: "gas late", At: fmt.Sprintf("+%gs", (1610-minutes)*60)})
}

var untested = []string{"V-06"}

var cautionEdges = []edge{
	{"K01", "% LEL", [3]float64{0.98, 1, 1.02}, [3]schema.Severity{ok, hold, hold}, gasLate, untested},
	{"K01", "% LEL", [3]float64{4.98, 5, 5.02}, [3]schema.Severity{hold, stop, stop}, gasLate, untested},
	{"K01", "% LEL", [3]float64{9.98, 10, 10.02}, [3]schema.Severity{stop, stop, stop}, gasLate, untested},
	{"K01", "min old", [3]float64{59, 60, 61}, [3]schema.Severity{ok, ok, stop}, gasAge, untested},
	{"K01", "% oxygen", [3]float64{10.1, 10, 9.9}, [3]schema.Severity{ok, ok, stop}, func(x float64) []edit { return openedAgain(change("gas late", "oxygen", x)) }, untested},
	{"K01", "% LEL in the bay", [3]float64{0.98, 1, 1.02}, [3]schema.Severity{ok, hold, hold}, func(x float64) []edit { return one("gas when hot", "floor")(x / 2) }, nil},
	{"K01", "% LEL in the bay", [3]float64{4.98, 5, 5.02}, [3]schema.Severity{hold, stop, stop}, func(x float64) []edit { return one("gas when hot", "cabin")(x / 2) }, []string{"K24"}},
	{"K05", "bar", [3]float64{0.049, 0.05, 0.051}, [3]schema.Severity{ok, ok, stop}, func(x float64) []edit { return openedAgain(change("zero late", "rail", x)) }, untested},
	{"K05", "bar", [3]float64{-0.049, -0.05, -0.051}, [3]schema.Severity{ok, ok, stop}, func(x float64) []edit { return openedAgain(change("zero late", "rail", x)) }, untested},
}

var otherEdges = []edge{
	{"L08", "bar at 10.4 A", [3]float64{0.0501, 0.05, 0.0499}, [3]schema.Severity{ok, stop, stop}, one("prime", "rail"), nil},
	{"L08", "s", [3]float64{2.9, 3, 3.1}, [3]schema.Severity{ok, ok, flag}, one("prime", "time"), nil},
	{"L08", "s", [3]float64{4.9, 5, 5.1}, [3]schema.Severity{flag, flag, hold}, one("prime", "time"), nil},
	{"L15", "bar", [3]float64{0.199, 0.2, 0.201}, [3]schema.Severity{ok, ok, flag}, one("return", "pressure"), nil},
	{"L15", "bar", [3]float64{0.499, 0.5, 0.501}, [3]schema.Severity{flag, flag, hold}, one("return", "pressure"), nil},
	{"L16", "bar", [3]float64{0.199, 0.2, 0.201}, [3]schema.Severity{ok, ok, flag}, one("filter", "drop"), nil},
	{"L16", "bar", [3]float64{0.349, 0.35, 0.351}, [3]schema.Severity{flag, flag, hold}, one("filter", "drop"), nil},
	{"L20", "ohm", [3]float64{9.9, 10, 10.1}, [3]schema.Severity{ok, ok, flag}, one("bond again", "resistance"), nil},
	{"L20", "ohm", [3]float64{99, 100, 101}, [3]schema.Severity{flag, flag, hold}, one("bond again", "resistance"), nil},
	{"L20", "ohm", [3]float64{999_999, 1_000_000, 1_000_001}, [3]schema.Severity{hold, stop, stop}, one("bond again", "resistance"), nil},
	{"L25", "s", [3]float64{1.9, 2, 2.1}, [3]schema.Severity{ok, ok, flag}, one("stop", "time"), nil},
	{"L25", "s", [3]float64{4.9, 5, 5.1}, [3]schema.Severity{flag, flag, hold}, one("stop", "time"), nil},
	{"L29", "%", [3]float64{1.99, 2, 2.01}, [3]schema.Severity{ok, ok, flag}, one("spread", "spread"), nil},
	{"L29", "%", [3]float64{3.99, 4, 4.01}, [3]schema.Severity{flag, flag, hold}, one("spread", "spread"), nil},
	{"L29", "% by the papers", [3]float64{1.99, 2, 2.01}, [3]schema.Severity{ok, ok, flag}, func(x float64) []edit { return append(spreadOfPapers(x), taken("spread")) }, nil},
	{"L30", "kPa of vacuum", [3]float64{0.99, 1, 1.01}, [3]schema.Severity{ok, ok, flag}, func(x float64) []edit { return one("vent", "tank")(-x) }, nil},
	{"L30", "kPa of vacuum", [3]float64{1.99, 2, 2.01}, [3]schema.Severity{flag, flag, hold}, func(x float64) []edit { return one("vent", "tank")(-x) }, nil},
}

var flowTestEdges = []edge{
	{"L21", "s", [3]float64{15.1, 15, 14.9}, [3]schema.Severity{ok, ok, unproven}, func(x float64) []edit { return []edit{change("flow", "volume", 2.1*x/28, "time", x)} }, []string{"L04c"}},
	{"X27", "bar", [3]float64{0.051, 0.05, 0.049}, [3]schema.Severity{ok, unproven, unproven}, one("flow", "pressure"), []string{"L04c"}},
	{"L04c", "bar of the timed flow", [3]float64{4.201, 4.2, 4.199}, [3]schema.Severity{ok, ok, hold}, one("flow", "pressure"), nil},
	{"L04c", "V over those under load", [3]float64{0.19, 0.2, 0.21}, [3]schema.Severity{ok, ok, hold}, func(x float64) []edit { return one("flow", "volts")(13.4 + x) }, nil},
	{"K04", "days past the year", [3]float64{-1, 0, 1}, [3]schema.Severity{ok, ok, hold}, func(x float64) []edit {
		day := time.Date(2025, 3, 2, 0, 0, 0, 0, time.UTC).AddDate(0, 0, -int(x))
		return []edit{{Entry: "K04", Set: map[string]any{"/inspected": day.Format(time.DateOnly)}}}
	}, nil},
}

// tankTest is a tank air test at one temperature: start and loss in kPa, time
// in minutes.
func tankTest(start, loss, minutes float64) []edit {
	value := func(name string, x float64, unit, gauge string) map[string]any {
		v := map[string]any{"name": name, "value": num(x), "unit": unit}
		if gauge != "" {
			v["gauge"] = gauge
		}
		return v
	}
	return []edit{{After: "F2", Add: &compact{Name: "tank air", Kind: "reading", By: "tech-1", At: "+115m", Data: map[string]any{"test": "tank air", "values": []any{
		value("start", start, "kPa", "WM1"), value("end", start-loss, "kPa", "WM1"), value("time", minutes, "min", ""),
		value("temperature start", 20, "degC", "TH1"), value("temperature end", 20, "degC", "TH1")}}}}}
}

var tankEdges = []edge{
	{"L09", "kPa lost", [3]float64{0.249, 0.25, 0.251}, [3]schema.Severity{ok, ok, flag}, func(x float64) []edit { return tankTest(7, x, 10) }, nil},
	{"L09", "kPa lost", [3]float64{0.499, 0.5, 0.501}, [3]schema.Severity{flag, flag, hold}, func(x float64) []edit { return tankTest(7, x, 10) }, nil},
	{"L09", "kPa at the start", [3]float64{9.9, 10, 10.1}, [3]schema.Severity{ok, ok, stop}, func(x float64) []edit { return tankTest(x, 0, 10) }, nil},
	{"L09", "min", [3]float64{10.1, 10, 9.9}, [3]schema.Severity{ok, ok, unproven}, func(x float64) []edit { return tankTest(7, 0, x) }, nil},
}

var carburettorEdges = []edge{
	{"L31", "bar", [3]float64{0.281, 0.28, 0.279}, [3]schema.Severity{ok, ok, hold}, one("load", "rail"), nil},
	{"L31", "bar where 0.20 is planned", [3]float64{0.1701, 0.17, 0.1699}, [3]schema.Severity{ok, ok, hold}, func(x float64) []edit {
		return append(planSet("/carburettor/pressure", "0.20", "bar"), change("load", "rail", x))
	}, nil},
	{"L15c", "kPa", [3]float64{2.99, 3, 3.01}, [3]schema.Severity{ok, ok, flag}, one("return", "pressure"), nil},
	{"L15c", "kPa", [3]float64{4.99, 5, 5.01}, [3]schema.Severity{flag, flag, hold}, one("return", "pressure"), nil},
	{"L17", "bar of vacuum", [3]float64{0.069, 0.07, 0.071}, [3]schema.Severity{ok, ok, flag}, func(x float64) []edit { return one("suction", "inlet")(-x) }, nil},
	{"L17", "bar of vacuum", [3]float64{0.139, 0.14, 0.141}, [3]schema.Severity{flag, flag, hold}, func(x float64) []edit { return one("suction", "inlet")(-x) }, nil},
}

// power plans so many kW on a blend, with the outlet pressure fixed so that
// margin and duty go with the power alone, and with injectors large enough when
// they are not what is judged.
func power(kW, ethanolPercent, consumption float64, injectors string) []edit {
	return []edit{
		{Entry: "plan", Set: map[string]any{
			"/outlet": map[string]any{"value": "4.60", "unit": "bar"}, "/engine/consumption/value": num(consumption),
			"/envelope/ethanol_max/value": num(ethanolPercent), "/envelope/power/value": num(kW),
		}, Unset: []string{"/fuel", "/engine/displacement"}},
		{Part: "injectors-1", Set: map[string]any{"/injector/static_flow/value": injectors}},
	}
}

// planEdges turns the limits of margin and duty into powers: x is how many
// times the limit.
func planEdges(t *testing.T) []edge {
	t.Helper()
	margin, _ := planned(t, power(300, 10, 0.36, "1700"))
	marginE, _ := planned(t, power(300, 85, 0.53, "1700"))
	unread, _ := planned(t, append(power(300, 10, 0.36, "1700"), taken("supply")))
	_, duty := planned(t, power(300, 10, 0.36, "1000"))
	margins := func(rule string, limit, percent, consumption, at300 float64, in, out schema.Severity) edge {
		return edge{rule, fmt.Sprintf("x margin %.2f", limit), [3]float64{1.001, 1, 0.999}, [3]schema.Severity{in, in, out},
			func(x float64) []edit { return power(300*at300/limit/x, percent, consumption, "1700") }, []string{"K25", "L04c", "L40"}}
	}
	duties := func(limit float64, in, out schema.Severity) edge {
		return edge{"L02", fmt.Sprintf("x duty %.2f", limit), [3]float64{0.999, 1, 1.001}, [3]schema.Severity{in, in, out},
			func(x float64) []edit { return power(300*limit/duty*x, 10, 0.36, "1000") }, []string{"L40"}}
	}
	return []edge{
		{"L01e", "% of ethanol at a margin of 1.22", [3]float64{49.9, 50, 50.1}, [3]schema.Severity{ok, ok, flag}, func(x float64) []edit {
			margin, _ := planned(t, power(300, x, 0.45, "1700"))
			return power(300*margin/1.22, x, 0.45, "1700")
		}, []string{"K25", "L04c"}},
		{"L01", "x margin 1.20, volts read at idle", [3]float64{1.001, 1, 0.999}, [3]schema.Severity{ok, ok, flag}, func(x float64) []edit {
			return append(power(300*unread/1.20/x, 10, 0.36, "1700"), change("supply", "source", 14.8, "pump", 14.4), under("supply", "engine", "idle"))
		}, []string{"K25", "L04c", "L10", "L10b", "L11"}},
		{"L01", "x margin 1.20, a charger on the battery", [3]float64{1.001, 1, 0.999}, [3]schema.Severity{ok, ok, flag}, func(x float64) []edit {
			return append(power(300*unread/1.20/x, 10, 0.36, "1700"), change("supply", "source", 14.8, "pump", 14.4), under("supply", "charger", "yes"))
		}, []string{"K25", "L04c", "L10", "L10b"}},
		margins("L01", 1.20, 10, 0.36, margin, ok, flag), margins("L01", 1.10, 10, 0.36, margin, flag, hold), margins("L01", 1.00, 10, 0.36, margin, hold, block),
		margins("L01e", 1.25, 85, 0.53, marginE, ok, flag), margins("L01e", 1.15, 85, 0.53, marginE, flag, hold), margins("L01e", 1.00, 85, 0.53, marginE, hold, block),
		duties(0.80, ok, flag), duties(0.85, flag, hold), duties(0.90, hold, block),
	}
}

// planned is margin and duty of the clean car with edits.
func planned(t *testing.T, edits []edit) (margin, duty float64) {
	t.Helper()
	s := loadBase(t, "clean")
	ideal(t, s)
	s.apply(t, edits...)
	b := s.build(t)
	r, err := checklist.Plan(checklist.Assess(b.record, b.shop, b.moment).Car)
	if err != nil {
		t.Fatal(err)
	}
	return float64(r.Delivery.Margin), float64(r.Injection.Effective)
}
