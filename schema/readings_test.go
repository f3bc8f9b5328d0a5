package schema_test

import (
	"regexp"
	"strings"
	"testing"
	"time"

	"feedproof/schema"
	"feedproof/schema/quantity"
)

// reading is a reading of a test with every value in its usual unit.
func reading(test schema.Reading) schema.ReadingData {
	r := schema.ReadingData{Test: test.Name}
	for _, v := range test.Values {
		if len(v.Seen) > 0 {
			r.Values = append(r.Values, schema.Value{Name: v.Name, Seen: v.Seen[0]})
			continue
		}
		r.Values = append(r.Values, schema.Value{Name: v.Name, Value: "1", Unit: usualUnit(v)})
	}
	return r
}

func usualUnit(v schema.ReadingValue) string {
	d := v.Accepts[0]
	unit := quantity.Symbols(d)[0]
	if d == quantity.Absolute(0).Dimension() {
		unit += " abs"
	}
	return unit
}

// judge says what Validate finds in a reading.
func judge(t *testing.T, r schema.ReadingData) error {
	t.Helper()
	now := time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC)
	e, err := schema.NewEntry(schema.Origin{By: "tech-1", Device: "bay-2", Counter: 1, Entered: now}, r)
	if err != nil {
		t.Fatal(err)
	}
	return schema.ValidateEntry(schema.VehicleRecord, "car-1", signed(t, e))
}

func TestTableOfTests(t *testing.T) {
	if len(schema.Readings) < 30 {
		t.Fatalf("%d tests in the table", len(schema.Readings))
	}
	method := regexp.MustCompile(`^(V-\d\d)?$`)
	names := map[string]bool{}
	for _, test := range schema.Readings {
		if names[test.Name] || test.Name == "" || test.Title == "" || !method.MatchString(test.Method) {
			t.Errorf("%+v: name, title or method", test)
		}
		if test.Runs == 0 {
			t.Errorf("%s: schema/readings.go does not say what Runs for it", test.Name)
		}
		if test.Starts && test.Runs != schema.RunsEngine {
			t.Errorf("%s: starts an engine that does not run", test.Name)
		}
		names[test.Name] = true
		values := map[string]bool{}
		for _, v := range test.Values {
			if values[v.Name] || (len(v.Seen) > 0) == (len(v.Accepts) > 0) {
				t.Errorf("%s: %s: stands twice, or is not one of seen and measured", test.Name, v.Name)
			}
			values[v.Name] = true
		}
		if len(values) == 0 || test.Joints && !values["joint"] {
			t.Errorf("%s: has no values, or no joint", test.Name)
		}
		if found, ok := schema.FindReading(test.Name); !ok || found.Title != test.Title {
			t.Errorf("%s: is not found by its name", test.Name)
		}
	}
}

// What runs for those that the trade's test list has (V-01 to V-26, common
// practice). "vent" is read after a drive, "stop" after a stall.
func TestWhatRunsOfTheTradesList(t *testing.T) {
	for runs, names := range map[schema.Runs][]string{
		schema.RunsEngine:  {"idle", "load", "supply", "charging", "hot restart", "lambda", "return", "stop", "vent"},
		schema.RunsPump:    {"base", "leak", "leak-down", "prime", "flow", "slope", "relief", "filter", "suction", "pump alone", "transfer", "needle"},
		schema.RunsNothing: {"gas", "zero", "winding", "tank air", "fuel temperature", "ethanol", "slope parking", "bond", "plug", "surface", "torque", "measure", "depth", "hanger", "spread", "spill"},
	} {
		for _, name := range names {
			if test, ok := schema.FindReading(name); !ok || test.Runs != runs {
				t.Errorf("%s: runs %d, want %d", name, test.Runs, runs)
			}
		}
	}
}

// Every test is read whole and with each value unknown; without a value that it
// needs, with a value that is not its own, or with one twice, it is refused.
func TestReadings(t *testing.T) {
	for _, test := range schema.Readings {
		t.Run(test.Name, func(t *testing.T) {
			if err := judge(t, reading(test)); err != nil {
				t.Fatalf("whole: %v", err)
			}
			for i, v := range test.Values {
				judgeValue(t, test, i, v)
			}
			r := reading(test)
			r.Values = append(r.Values, schema.Value{Name: "moon", Value: "1", Unit: "bar"})
			if err := judge(t, r); err == nil || !strings.Contains(err.Error(), "moon") {
				t.Errorf("a value of another test: %v", err)
			}
		})
	}
}

func judgeValue(t *testing.T, test schema.Reading, i int, v schema.ReadingValue) {
	t.Helper()
	r := reading(test)
	r.Values[i] = schema.Value{Name: v.Name, State: schema.Unknown}
	if err := judge(t, r); err != nil {
		t.Errorf("%s unknown: %v", v.Name, err)
	}

	r = reading(test)
	r.Values = append(r.Values[:i], r.Values[i+1:]...)
	err := judge(t, r)
	if wanted := !v.Optional || len(r.Values) == 0; (err != nil) != wanted {
		t.Errorf("without %s: %v", v.Name, err)
	} else if wanted && !strings.Contains(err.Error(), "values: ") {
		t.Errorf("without %s: %v names no value", v.Name, err)
	}

	r = reading(test)
	r.Values = append(r.Values, r.Values[i])
	if err := judge(t, r); (err != nil) == v.Repeats {
		t.Errorf("%s twice: %v", v.Name, err)
	}

	r = reading(test)
	r.Values[i] = schema.Value{Name: v.Name, Value: "1", Unit: "MJ/kg"}
	if err := judge(t, r); err == nil || !strings.Contains(err.Error(), "values/") {
		t.Errorf("%s in a unit that nothing is read in: %v", v.Name, err)
	}
}

// A manifold pressure is read as absolute or as gauge, and says which.
func TestReadingOfManifold(t *testing.T) {
	for unit, good := range map[string]bool{"kPa abs": true, "inHg vacuum": true, "bar gauge": true, "psi boost": true, "psi": false, "inHg": false, "psi diff": false, "V": false} {
		r := schema.ReadingData{Test: "load", Values: []schema.Value{
			{Name: "rail", Value: "4.1", Unit: "bar"}, {Name: "manifold", Value: "20", Unit: unit},
		}}
		if err := judge(t, r); (err == nil) != good {
			t.Errorf("in %s: %v", unit, err)
		}
	}
}

// A joint is any name; a test without joints takes no such name.
func TestReadingOfJoints(t *testing.T) {
	test, ok := schema.FindReading("leak")
	if !ok {
		t.Fatal("no leak test")
	}
	v, ok := test.Value("feed at tank")
	if !ok || v.Name != "joint" {
		t.Errorf("got %+v", v)
	}
	base, ok := schema.FindReading("base")
	if !ok {
		t.Fatal("no base test")
	}
	if v, ok := base.Value("feed at tank"); ok {
		t.Errorf("a base reading takes %+v", v)
	}
	if _, ok := schema.FindReading("luck"); ok {
		t.Error("found a test of luck")
	}
}
