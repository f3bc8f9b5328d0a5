package past

import (
	"fmt"
	"math"
	"strings"

	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/quantity"
)

// Reading is a measured quantity of two visits beside each other.
type Reading struct {
	What      string   `json:"what"`
	Before    string   `json:"before"`
	After     string   `json:"after"`
	Change    string   `json:"change"`
	Tolerance string   `json:"tolerance"`
	Beyond    bool     `json:"beyond"`
	Unlike    string   `json:"unlike,omitempty"` // why the two cannot be compared
	Alarm     string   `json:"alarm,omitempty"`  // a trend that must be looked at
	Entries   []string `json:"entries"`
}

// sample is a quantity as a visit last measured it.
type sample struct {
	entry        schema.Entry
	value        float64
	hose, engine string
	also         []float64 // what must be alike, in the order of comparison.like
}

// comparison is a row of the table of tolerances: same car, same test, like
// conditions. Source: common practice.
type comparison struct {
	what      string
	unit      string
	decimals  int
	tolerance float64 // in the unit, or a share of the earlier value
	share     bool
	of        func(Visit) (sample, bool)
	like      []alike
	alarm     func(before, after float64) string
}

// alike is a second value that must agree for two samples to be compared.
type alike struct {
	what   string
	within float64
}

var comparisons = []comparison{
	{what: "base pressure", unit: "bar", decimals: 2, tolerance: 0.07, of: value("base", "rail")},
	{what: "pressure difference under load", unit: "bar", decimals: 2, tolerance: 0.05, of: value("load", Difference)},
	{what: "volts at the pump under load", unit: "V", decimals: 1, tolerance: 0.2, of: value("supply", "pump")},
	{what: "pump current under load", unit: "A", decimals: 1, tolerance: 0.10, share: true, of: current, like: []alike{{"volts", 0.2}}},
	{what: "timed flow", unit: "L/h", decimals: 0, tolerance: 0.05, share: true, of: timedFlow, like: []alike{{"pressure (bar)", 0.1}, {"volts", 0.2}}, alarm: lostFlow},
	{what: "highest duty in the log", unit: "points", decimals: 1, tolerance: 3, of: duty, alarm: moreDuty},
	{what: "lost in 5 min, pump off", unit: "bar", decimals: 2, tolerance: 0.15, of: leakDown},
	{what: "fuel temperature in the tank", unit: "K", decimals: 0, tolerance: 5, of: fuelTemperature, like: []alike{{"air temperature", 5}}},
	{what: "pressure drop of the filter", unit: "bar", decimals: 2, tolerance: math.Inf(1), of: value("filter", "drop"), alarm: doubledDrop},
}

// Compare puts what two visits last measured beside each other, where both
// measured it.
func Compare(before, after Visit) []Reading {
	var out []Reading
	for _, k := range comparisons {
		a, ok := k.of(before)
		b, ok2 := k.of(after)
		if ok && ok2 {
			out = append(out, k.compare(a, b))
		}
	}
	return out
}

func (k comparison) compare(a, b sample) Reading {
	r := Reading{
		What: k.what, Before: k.text(a.value), After: k.text(b.value), Change: k.change(b.value - a.value),
		Entries: []string{a.entry.ID, b.entry.ID}, Unlike: k.unlike(a, b),
	}
	change, limit := math.Abs(b.value-a.value), k.tolerance
	if k.share {
		limit *= math.Abs(a.value)
		r.Tolerance = fmt.Sprintf("%.0f %%", 100*k.tolerance)
	} else if !math.IsInf(limit, 1) {
		r.Tolerance = fmt.Sprintf("%g %s", k.tolerance, k.unit)
	}
	if r.Unlike != "" {
		return r
	}
	r.Beyond = change > limit+rounding*math.Max(1, limit)
	if k.alarm != nil {
		r.Alarm = k.alarm(a.value, b.value)
	}
	return r
}

// rounding keeps a value that is written on the limit within it, and two that
// are written alike from differing.
const rounding = 1e-9

func (k comparison) text(x float64) string {
	unit := map[string]string{"points": "%", "K": "degC"}[k.unit]
	if unit == "" {
		unit = k.unit
	}
	return fmt.Sprintf("%.*f %s", k.decimals, x, unit)
}

// change is how far a value moved; what rounds to nothing did not fall.
func (k comparison) change(by float64) string {
	text := fmt.Sprintf("%+.*f", k.decimals, by)
	if strings.Trim(text, "-0.") == "" {
		text = "+" + text[1:]
	}
	return text + " " + k.unit
}

// unlike says which condition differs. One that was not written on either
// side is taken for the same.
func (k comparison) unlike(a, b sample) string {
	for _, c := range []struct{ what, a, b string }{{"hose", a.hose, b.hose}, {"engine", a.engine, b.engine}} {
		if c.a != "" && c.b != "" && c.a != c.b {
			return fmt.Sprintf("%s %s then, %s now", c.what, c.a, c.b)
		}
	}
	for i, l := range k.like {
		if i >= len(a.also) || i >= len(b.also) || math.IsNaN(a.also[i]) || math.IsNaN(b.also[i]) {
			return l.what + " not known"
		}
		if math.Abs(a.also[i]-b.also[i]) > l.within+rounding {
			return fmt.Sprintf("%s %.1f then, %.1f now", l.what, a.also[i], b.also[i])
		}
	}
	return ""
}

// lastReading is the visit's last reading of a test.
func lastReading(v Visit, test string) (state.Reading, bool) {
	var last state.Reading
	found := false
	for _, r := range Of[schema.ReadingData](v) {
		if r.Data.Test == test {
			last, found = state.Reading{Entry: r.Entry, Data: r.Data}, true
		}
	}
	return last, found
}

func sampleOf(r state.Reading, value float64, also ...float64) sample {
	s := sample{entry: r.Entry, value: value, also: also}
	if c := r.Data.Conditions; c != nil {
		s.hose, s.engine = c.Hose, c.Engine
	}
	return s
}

// value takes a value of a test as a series shows it.
func value(test, name string) func(Visit) (sample, bool) {
	return func(v Visit) (sample, bool) {
		r, ok := lastReading(v, test)
		if !ok {
			return sample{}, false
		}
		x, ok := number(r, name)
		return sampleOf(r, x), ok
	}
}

// number is the last of a reading's values of that name, in its usual unit.
func number(r state.Reading, name string) (float64, bool) {
	t, ok := schema.FindReading(r.Data.Test)
	if !ok {
		return 0, false
	}
	read, _, err := reader(t, name)
	if err != nil {
		return 0, false
	}
	points := read(r)
	if len(points) == 0 {
		return 0, false
	}
	return points[len(points)-1].Value, true
}

// orUnknown is a number that may be missing.
func orUnknown(x float64, ok bool) float64 {
	if !ok {
		return math.NaN()
	}
	return x
}

func current(v Visit) (sample, bool) {
	r, ok := lastReading(v, "supply")
	if !ok {
		return sample{}, false
	}
	x, ok := number(r, "current")
	return sampleOf(r, x, orUnknown(number(r, "pump"))), ok
}

func timedFlow(v Visit) (sample, bool) {
	r, ok := lastReading(v, "flow")
	if !ok {
		return sample{}, false
	}
	q, ok := FlowOf(r.Data)
	return sampleOf(r, quantity.In(q, "L/h"), orUnknown(number(r, "pressure")), orUnknown(number(r, "volts"))), ok
}

// FlowOf is the flow of a timed flow reading: volume over time.
func FlowOf(d schema.ReadingData) (quantity.Flow, bool) {
	r := state.Reading{Data: d}
	volume, ok := number(r, "volume")
	time, ok2 := number(r, "time")
	if !ok || !ok2 || time <= 0 {
		return 0, false
	}
	return quantity.Flow(volume * float64(quantity.Litre) / time), true
}

// leakDown is what was lost, brought to 5 min.
func leakDown(v Visit) (sample, bool) {
	r, ok := lastReading(v, "leak-down")
	if !ok {
		return sample{}, false
	}
	start, ok1 := number(r, "start")
	end, ok2 := number(r, "end")
	time, ok3 := number(r, "time")
	return sampleOf(r, (start-end)*300/time), ok1 && ok2 && ok3 && time > 0
}

func fuelTemperature(v Visit) (sample, bool) {
	r, ok := lastReading(v, "fuel temperature")
	if !ok {
		return sample{}, false
	}
	x, ok := number(r, "tank")
	air := math.NaN()
	if c := r.Data.Conditions; c != nil {
		if t, err := c.AirTemp.SI(); err == nil {
			air = quantity.In(t, "degC")
		}
	}
	return sampleOf(r, x, air), ok
}

// duty is the highest duty that the visit's last loaded log kept.
func duty(v Visit) (sample, bool) {
	var s sample
	found := false
	for _, l := range Of[schema.DatalogData](v) {
		for _, w := range l.Data.Worst {
			q, err := quantity.Of[quantity.Fraction](quantity.Written{Value: w.Value, Unit: w.Unit})
			if w.Name == "duty" && err == nil {
				s, found = sample{entry: l.Entry, value: quantity.In(q, "%")}, true
			}
		}
	}
	return s, found
}

// Alarms. Source: common practice.

func lostFlow(before, after float64) string {
	if after <= 0.9*before*(1+rounding) {
		return "the pump gives 10 % less or worse: wear, strainer, volts"
	}
	return ""
}

func doubledDrop(before, after float64) string {
	if before > 0 && after >= 2*before*(1-rounding) {
		return "the filter's pressure drop has doubled: change it"
	}
	return ""
}

func moreDuty(before, after float64) string {
	if after >= before+5-rounding {
		return "duty is up 5 points or more: pressure, ethanol, power, or a blocked injector"
	}
	return ""
}
