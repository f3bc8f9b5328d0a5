package guide

import (
	"maps"
	"slices"
	"strings"

	"feedproof/cmd/internal/desk"
	"feedproof/cmd/internal/facts"
	"feedproof/schema"
	"feedproof/schema/quantity"
)

// usual are the units that are offered for a quantity, the metric ones first.
// Of manifold pressure each says what it is measured from.
var usual = map[quantity.Dimension][]string{
	quantity.Gauge(0).Dimension():       {"bar", "kPa", "psi"},
	quantity.Absolute(0).Dimension():    {"kPa abs", "bar gauge", "psi gauge", "inHg vacuum"},
	quantity.Difference(0).Dimension():  {"bar", "mbar", "psi"},
	quantity.Flow(0).Dimension():        {"L/h", "gph"},
	quantity.Temperature(0).Dimension(): {"degC", "degF"},
	quantity.Volume(0).Dimension():      {"L", "mL", "gal"},
	quantity.Torque(0).Dimension():      {"N.m", "lbf.ft", "lbf.in"},
	quantity.Length(0).Dimension():      {"mm", "in"},
	quantity.Duration(0).Dimension():    {"s", "min"},
	quantity.Fraction(0).Dimension():    {"%"},
}

// US is the system of units of those who are used to psi and degrees
// Fahrenheit; Metric is the other.
const (
	US     = "us"
	Metric = "metric"
)

var usUnits = []string{"psi", "psi gauge", "gph", "degF", "gal", "lbf.ft", "in", "inHg vacuum"}

// units are those offered for a value, the person's system first.
func (w *Work) units(v schema.ReadingValue) []string {
	if len(v.Accepts) == 0 {
		return nil
	}
	list := slices.Clone(usual[v.Accepts[0]])
	if list == nil {
		list = quantity.Symbols(v.Accepts[0])
	}
	if w.habits.System == US {
		slices.SortStableFunc(list, func(a, b string) int { return usFirst(a) - usFirst(b) })
	}
	return list
}

func usFirst(unit string) int {
	if i := slices.Index(usUnits, unit); i >= 0 {
		return i
	}
	return len(usUnits)
}

// unit is the unit that is shown beside the box, and stored: the one this
// person used last.
func (w *Work) unit(v schema.ReadingValue) string {
	list := w.units(v)
	if len(list) == 0 {
		return ""
	}
	if u := w.habits.Units[string(v.Accepts[0])]; slices.Contains(list, u) {
		return u
	}
	return list[0]
}

func (w *Work) learnUnit(v schema.ReadingValue, unit string) {
	w.habits.Units = with(w.habits.Units, string(v.Accepts[0]), unit)
	w.learn()
}

func (w *Work) learnGauge(v schema.ReadingValue, gauge string) {
	w.habits.Gauges = with(w.habits.Gauges, string(v.Accepts[0]), gauge)
	w.learn()
}

func (w *Work) learn() {
	if err := w.bench.Learn(w.habits); err != nil {
		w.problem = err.Error()
	}
}

func with(m map[string]string, key, value string) map[string]string {
	out := maps.Clone(m)
	if out == nil {
		out = map[string]string{}
	}
	out[key] = value
	return out
}

// gauge is the instrument a value is read on: the only one that fits, or the
// one this person used last.
func (w *Work) gauge(v schema.ReadingValue) (desk.Instrument, bool) {
	all, err := w.bench.Gauges(v)
	if err != nil || len(all) == 0 {
		return desk.Instrument{}, false
	}
	if len(all) == 1 {
		return all[0], true
	}
	i := slices.IndexFunc(all, func(g desk.Instrument) bool { return g.Snapshot.Gauge == w.habits.Gauges[string(v.Accepts[0])] })
	if i < 0 {
		return desk.Instrument{}, false
	}
	return all[i], true
}

// typedUnit reports that a unit was typed after the number.
func typedUnit(text string) bool {
	return strings.ContainsFunc(text, func(r rune) bool { return !strings.ContainsRune("0123456789.,+- ", r) })
}

// written is what was typed, with the unit that stands beside the box unless
// another was typed. A decimal comma counts as a point.
func (w *Work) written(v schema.ReadingValue, text string) (quantity.Written, error) {
	text = strings.ReplaceAll(text, ",", ".")
	if !typedUnit(text) {
		text += " " + w.unit(v)
	}
	return quantity.Read(text)
}

// number is a typed value, held to what the test takes. A unit that was typed
// is remembered.
func (w *Work) number(a ask, text string) (schema.Value, error) {
	read, err := w.written(a.value, text)
	if err != nil {
		return schema.Value{}, err
	}
	for i, d := range a.value.Accepts {
		unfit := quantity.Check(read, d)
		if unfit == nil {
			if typedUnit(text) && slices.Contains(w.units(a.value), read.Unit) {
				w.learnUnit(a.value, read.Unit)
			}
			return schema.Value{Name: a.name, Value: read.Value, Unit: read.Unit}, nil
		}
		if i == 0 {
			err = unfit
		}
	}
	return schema.Value{}, err
}

// twin is the typed value in the other system of units.
func (w *Work) twin(v schema.ReadingValue) string {
	read, err := w.written(v, w.typed)
	if w.typed == "" || err != nil {
		return ""
	}
	if other := facts.Twin(read); other != "" {
		return "  = " + other
	}
	return ""
}
