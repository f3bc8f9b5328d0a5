package schema

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"feedproof/schema/quantity"
)

// Reading is a sort of reading: what is read in one occasion, and in what.
// Values without a dimension are seen, not measured.
type Reading struct {
	Name   string // as typed
	Method string // the trade's test number, V-xx, where there is one
	Title  string
	Runs   Runs // what runs for it, or ran just before
	Starts bool // it counts as the engine's first start after a joint was opened
	Values []ReadingValue
	Joints bool // the names of values are the joints that were looked at
}

// Runs is what runs for a reading, or ran just before: after it no joint is
// free of pressure, and after an engine no surface is known to be cool. Source:
// the trade's test list, common practice.
type Runs int

// What runs. A reading must say it.
const (
	_ Runs = iota
	RunsNothing
	RunsPump   // the pump alone, which puts pressure back into the lines
	RunsEngine // the engine, and the pump with it
)

// ReadingValue is one value of a test.
type ReadingValue struct {
	Name     string
	Accepts  []quantity.Dimension // any of them; the first is the usual one
	Seen     []string             // words, for what is seen
	Optional bool
	Repeats  bool // a series, such as the points of a slope
}

var (
	gauge      = []quantity.Dimension{quantity.Gauge(0).Dimension()}
	manifold   = []quantity.Dimension{quantity.Absolute(0).Dimension(), quantity.Gauge(0).Dimension()}
	volts      = []quantity.Dimension{quantity.Voltage(0).Dimension()}
	amps       = []quantity.Dimension{quantity.Current(0).Dimension()}
	ohms       = []quantity.Dimension{quantity.Resistance(0).Dimension()}
	lel        = []quantity.Dimension{quantity.LEL(0).Dimension()}
	fraction   = []quantity.Dimension{quantity.Fraction(0).Dimension()}
	degrees    = []quantity.Dimension{quantity.Temperature(0).Dimension()}
	seconds    = []quantity.Dimension{quantity.Duration(0).Dimension()}
	litres     = []quantity.Dimension{quantity.Volume(0).Dimension()}
	flow       = []quantity.Dimension{quantity.Flow(0).Dimension()}
	difference = []quantity.Dimension{quantity.Difference(0).Dimension()}
	lengths    = []quantity.Dimension{quantity.Length(0).Dimension()}
	torque     = []quantity.Dimension{quantity.Torque(0).Dimension()}
	lambdas    = []quantity.Dimension{quantity.Lambda(0).Dimension()}
	angle      = []quantity.Dimension{quantity.Angle(0).Dimension()}
)

// Readings is the table of readings. Adding one is adding a line.
var Readings = []Reading{
	{Name: "gas", Runs: RunsNothing, Title: "combustible gas, meter zeroed in clean air", Values: []ReadingValue{
		{Name: "floor", Accepts: lel}, {Name: "work", Accepts: lel, Optional: true}, {Name: "tank", Accepts: lel, Optional: true, Repeats: true}, {Name: "cabin", Accepts: lel, Optional: true}, {Name: "oxygen", Accepts: fraction, Optional: true}}},
	{Name: "zero", Runs: RunsNothing, Title: "rail pressure before a joint is opened", Values: []ReadingValue{{Name: "rail", Accepts: gauge}}},
	{Name: "base", Runs: RunsPump, Title: "base pressure, reference hose off", Values: []ReadingValue{{Name: "rail", Accepts: gauge}}},
	{Name: "idle", Runs: RunsEngine, Starts: true, Method: "V-08", Title: "idle, reference hose off and on", Values: []ReadingValue{
		{Name: "off", Accepts: gauge}, {Name: "on", Accepts: gauge}, {Name: "manifold", Accepts: manifold}}},
	{Name: "slope", Runs: RunsPump, Method: "V-07", Title: "rail against manifold pressure", Values: []ReadingValue{
		{Name: "manifold", Accepts: manifold, Repeats: true}, {Name: "rail", Accepts: gauge, Repeats: true}}},
	{Name: "load", Runs: RunsEngine, Starts: true, Method: "V-10", Title: "under boost", Values: []ReadingValue{
		{Name: "rail", Accepts: gauge}, {Name: "manifold", Accepts: manifold}}},
	{Name: "supply", Runs: RunsEngine, Starts: true, Method: "V-11", Title: "pump volts and amps at load", Values: []ReadingValue{
		{Name: "source", Accepts: volts}, {Name: "pump", Accepts: volts}, {Name: "ground", Accepts: volts, Optional: true}, {Name: "current", Accepts: amps}}},
	{Name: "leak-down", Runs: RunsPump, Method: "V-05", Title: "pressure after the pump stops", Values: []ReadingValue{
		{Name: "start", Accepts: gauge}, {Name: "end", Accepts: gauge}, {Name: "time", Accepts: seconds}, {Name: "end10", Accepts: gauge, Optional: true}}},
	{Name: "leak", Runs: RunsPump, Method: "V-06", Title: "every joint looked at, under pressure", Joints: true, Values: []ReadingValue{
		{Name: "pressure", Accepts: gauge}, {Name: "held", Accepts: seconds, Optional: true}, {Name: "joint", Seen: []string{"dry", "damp", "wet", "smell"}, Repeats: true}}},
	{Name: "prime", Runs: RunsPump, Method: "V-04", Title: "time to 95 % of base", Values: []ReadingValue{{Name: "time", Accepts: seconds}, {Name: "rail", Accepts: gauge, Optional: true}, {Name: "current", Accepts: amps, Optional: true}}},
	{Name: "winding", Runs: RunsNothing, Method: "V-01", Title: "pump winding and insulation", Values: []ReadingValue{{Name: "winding", Accepts: ohms}, {Name: "insulation", Accepts: ohms, Optional: true}}},
	{Name: "tank air", Runs: RunsNothing, Method: "V-03", Title: "tank air test, dry", Values: []ReadingValue{
		{Name: "start", Accepts: gauge}, {Name: "end", Accepts: gauge}, {Name: "time", Accepts: seconds},
		{Name: "temperature start", Accepts: degrees, Optional: true}, {Name: "temperature end", Accepts: degrees, Optional: true}, {Name: "bubble", Seen: []string{"none", "bubble"}, Optional: true}}},
	{Name: "flow", Runs: RunsPump, Method: "V-12", Title: "timed flow at pressure", Values: []ReadingValue{
		{Name: "volume", Accepts: litres}, {Name: "time", Accepts: seconds}, {Name: "pressure", Accepts: gauge}, {Name: "volts", Accepts: volts}}},
	{Name: "return", Runs: RunsEngine, Method: "V-13", Title: "return back-pressure", Values: []ReadingValue{{Name: "pressure", Accepts: gauge}, {Name: "flow", Accepts: flow, Optional: true}}},
	{Name: "filter", Runs: RunsPump, Method: "V-14", Title: "pressure drop of the filter", Values: []ReadingValue{{Name: "drop", Accepts: difference}}},
	{Name: "suction", Runs: RunsPump, Method: "V-15", Title: "vacuum at the pump inlet", Values: []ReadingValue{{Name: "inlet", Accepts: gauge}}},
	{Name: "fuel temperature", Runs: RunsNothing, Method: "V-16", Title: "fuel temperature", Values: []ReadingValue{{Name: "tank", Accepts: degrees, Optional: true}, {Name: "rail", Accepts: degrees, Optional: true}, {Name: "surge", Accepts: degrees, Optional: true}}},
	{Name: "hot restart", Runs: RunsEngine, Starts: true, Method: "V-17", Title: "restart after heat soak", Values: []ReadingValue{{Name: "soak", Accepts: seconds}, {Name: "start", Accepts: seconds}}},
	{Name: "ethanol", Runs: RunsNothing, Method: "V-18", Title: "ethanol content", Values: []ReadingValue{{Name: "ethanol", Accepts: fraction}}},
	{Name: "stop", Runs: RunsEngine, Method: "V-19", Title: "time to pump stop after a stall", Values: []ReadingValue{{Name: "time", Accepts: seconds, Optional: true}, {Name: "stopped", Seen: []string{"yes", "never"}, Optional: true}}},
	{Name: "vent", Runs: RunsEngine, Method: "V-20", Title: "tank vacuum after a drive", Values: []ReadingValue{{Name: "tank", Accepts: gauge}}},
	{Name: "pump alone", Runs: RunsPump, Method: "V-21", Title: "one pump of several, alone", Values: []ReadingValue{{Name: "rail", Accepts: gauge}, {Name: "current", Accepts: amps}, {Name: "volts", Accepts: volts, Optional: true}}},
	{Name: "transfer", Runs: RunsPump, Method: "V-22", Title: "siphon or jet transfer", Values: []ReadingValue{{Name: "volume", Accepts: litres}, {Name: "time", Accepts: seconds}}},
	{Name: "needle", Runs: RunsPump, Method: "V-24", Title: "needle and seat hold", Values: []ReadingValue{{Name: "time", Accepts: seconds}, {Name: "bowl", Seen: []string{"dry", "overflow"}}}},
	{Name: "slope parking", Runs: RunsNothing, Method: "V-25", Title: "full tank on a slope", Values: []ReadingValue{{Name: "time", Accepts: seconds}, {Name: "side", Seen: []string{"dry", "damp", "wet", "smell"}, Repeats: true}}},
	{Name: "bond", Runs: RunsNothing, Title: "bonding and earth", Values: []ReadingValue{{Name: "resistance", Accepts: ohms}}},
	{Name: "plug", Runs: RunsNothing, Title: "volts at the pump plug, battery off", Values: []ReadingValue{{Name: "volts", Accepts: volts}}},
	{Name: "surface", Runs: RunsNothing, Title: "hottest surface near the work", Values: []ReadingValue{{Name: "temperature", Accepts: degrees}}},
	{Name: "torque", Runs: RunsNothing, Title: "torque of a joint", Values: []ReadingValue{{Name: "torque", Accepts: torque}, {Name: "moved", Accepts: angle, Optional: true}, {Name: "maker", Accepts: torque, Optional: true}}},
	{Name: "depth", Runs: RunsNothing, Title: "depth of the tank where the hanger goes in, by one person", Values: []ReadingValue{{Name: "depth", Accepts: lengths}}},
	{Name: "hanger", Runs: RunsNothing, Title: "length of the hanger as cut, under its flange", Values: []ReadingValue{{Name: "length", Accepts: lengths}}},
	{Name: "measure", Runs: RunsNothing, Title: "a length", Values: []ReadingValue{{Name: "length", Accepts: lengths}}},
	{Name: "lambda", Runs: RunsEngine, Title: "lambda at load", Values: []ReadingValue{{Name: "measured", Accepts: lambdas}, {Name: "target", Accepts: lambdas}}},
	{Name: "spread", Runs: RunsNothing, Title: "static spread of the injector set", Values: []ReadingValue{{Name: "spread", Accepts: fraction}}},
	{Name: "relief", Runs: RunsPump, Title: "stall pressure of the pump", Values: []ReadingValue{{Name: "stall", Accepts: gauge}}},
	{Name: "charging", Runs: RunsEngine, Title: "charging voltage", Values: []ReadingValue{{Name: "volts", Accepts: volts}}},
	{Name: "spill", Runs: RunsNothing, Title: "fuel spilled", Values: []ReadingValue{{Name: "volume", Accepts: litres}}},
}

// FindReading finds a test by its name.
func FindReading(name string) (Reading, bool) {
	t, ok := readingNamed[name]
	return t, ok
}

var readingNamed = func() map[string]Reading {
	named := make(map[string]Reading, len(Readings))
	for _, t := range Readings {
		named[t.Name] = t
	}
	return named
}()

// Value finds a value of the test by name; a joint's name stands for "joint".
func (t Reading) Value(name string) (ReadingValue, bool) {
	for _, v := range t.Values {
		if v.Name == name {
			return v, true
		}
	}
	if t.Joints {
		return t.Value("joint")
	}
	return ReadingValue{}, false
}

// meaning checks the values against the test's table: that each belongs to it,
// in a unit that fits, and that none that it needs is missing.
func (r ReadingData) meaning() error {
	t, ok := FindReading(r.Test)
	if !ok {
		return fmt.Errorf("test: %q is not a test; see `feedproof read --help`", r.Test)
	}
	if len(r.Values) == 0 {
		return errors.New("values: there is none")
	}
	seen := map[string]bool{}
	for _, v := range r.Values {
		tv, ok := t.Value(v.Name)
		if !ok {
			return fmt.Errorf("values: %q is not part of a %s reading", v.Name, t.Name)
		}
		if seen[v.Name] && !tv.Repeats {
			return fmt.Errorf("values: %s: stands twice", v.Name)
		}
		seen[v.Name] = true
		if err := tv.check(v); err != nil {
			return fmt.Errorf("values: %s: %w", v.Name, err)
		}
	}
	return t.missing(r)
}

func (t Reading) missing(r ReadingData) error {
	for _, want := range t.Values {
		if want.Optional {
			continue
		}
		found := slices.ContainsFunc(r.Values, func(v Value) bool {
			tv, ok := t.Value(v.Name)
			return ok && tv.Name == want.Name
		})
		if !found {
			return fmt.Errorf("values: %q is missing; if it was not read, say so: %s=unknown", want.Name, want.Name)
		}
	}
	return nil
}

// check holds a value to one of its three forms: a state, what was seen, or a
// quantity of a dimension that fits.
func (tv ReadingValue) check(v Value) error {
	written, zero := v.Written(), v.Zero
	if !zero.IsZero() {
		if err := tv.fits(zero); err != nil {
			return fmt.Errorf("zero: %w", err)
		}
	}
	switch {
	case v.State != "":
		if !written.IsZero() || v.Seen != "" {
			return fmt.Errorf("is %q and yet has a value", v.State)
		}
		return checkState(v.State, v.Why)
	case len(tv.Seen) > 0 && !written.IsZero():
		return fmt.Errorf("%q is measured, and this is seen", written)
	case len(tv.Seen) > 0:
		if !slices.Contains(tv.Seen, v.Seen) {
			return fmt.Errorf("%q is not one of %s", v.Seen, strings.Join(tv.Seen, ", "))
		}
		return nil
	case v.Seen != "":
		return fmt.Errorf("%q is seen, and this is measured", v.Seen)
	}
	return tv.fits(written)
}

// checkState says what is wrong with a state that stands in place of a value.
func checkState(state, why string) error {
	switch {
	case state == Unknown:
		return nil
	case state != NotMeasured && state != NotApplicable:
		return fmt.Errorf("state: %q is not one of %s, %s, %s", state, Unknown, NotMeasured, NotApplicable)
	case why == "":
		return fmt.Errorf("why: is missing for %q", state)
	}
	return nil
}

// fits reports whether w is in a unit that the value accepts; the error is that
// of its usual dimension.
func (tv ReadingValue) fits(w quantity.Written) error {
	if len(tv.Accepts) > 1 && w.Unit != "" && w.Reference() == quantity.ReferenceNone {
		return fmt.Errorf("%s could be vacuum, boost or absolute; write %s abs, %s gauge or %s vacuum", w, w, w, w)
	}
	var problems []error
	for _, d := range tv.Accepts {
		err := quantity.Check(w, d)
		if err == nil {
			return nil
		}
		problems = append(problems, err)
	}
	if len(problems) == 0 {
		return errors.New("is seen, not measured")
	}
	return problems[0]
}

// Describe says what the value may be: its dimension or its words.
func (tv ReadingValue) Describe() string {
	var parts []string
	for _, d := range tv.Accepts {
		parts = append(parts, fmt.Sprintf("%s (%s)", d, strings.Join(quantity.Symbols(d), ", ")))
	}
	text := strings.Join(append(parts, tv.Seen...), " or ")
	if tv.Repeats {
		text += ", as often as needed"
	}
	if tv.Optional {
		text += ", if there is one"
	}
	return text
}
