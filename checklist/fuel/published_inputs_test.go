package fuel

import (
	"fmt"
	"math"
	"slices"
	"strings"
)

// siUnits are the units of rows written "name=value unit"; "-" is none. A unit
// that is not here is an error, and so is an input that nobody reads.
var siUnits = map[string]struct{ factor, offset float64 }{
	"-": {1, 0}, "%": {0.01, 0}, "C": {1, 273.15}, "K": {1, 0}, "K/h": {1.0 / 3600, 0}, "s": {1, 0}, "ms": {1e-3, 0}, "min": {60, 0}, "h": {3600, 0}, "1/s": {1, 0}, "Hz": {1, 0}, "rpm": {1.0 / 60, 0},
	"m": {1, 0}, "mm": {1e-3, 0}, "km": {1e3, 0}, "m2": {1, 0}, "mm2": {1e-6, 0}, "m/s": {1, 0}, "m/s2": {1, 0}, "g": {9.80665, 0}, "deg": {math.Pi / 180, 0},
	"L": {1e-3, 0}, "mm3": {1e-9, 0}, "gal": {3.785411784e-3, 0}, "L/h": {1e-3 / 3600, 0}, "L/min": {1e-3 / 60, 0}, "mL/min": {1e-6 / 60, 0}, "gal/min": {3.785411784e-3 / 60, 0},
	"kg": {1, 0}, "lb": {0.45359237, 0}, "kg/L": {1e3, 0}, "kg/m3": {1, 0}, "bar": {1e5, 0}, "kPa": {1e3, 0}, "kPa gauge": {1e3, 0}, "GPa": {1e9, 0}, "V": {1, 0}, "W": {1, 0}, "kW": {1e3, 0}, "W/K": {1, 0},
	"J/(kg K)": {1, 0}, "MJ/kg": {1e6, 0}, "Btu/lb": {2326, 0}, "Btu/gal": {1055.05585262 / 3.785411784e-3, 0}, "kg/kWh": {1 / 3.6e6, 0},
	"Pa s/m3": {1, 0}, "Pa s/m4": {1, 0}, "mm3/kPa": {1e-12, 0},
}

// given is the inputs of a row by name. It keeps the first thing that is wrong.
type given struct {
	text, unit map[string]string
	read       map[string]bool
	err        error
}

func (r checkRow) given() *given {
	g := &given{map[string]string{}, map[string]string{}, map[string]bool{}, nil}
	for _, part := range strings.Split(r["inputs"], ";") {
		name, rest, ok := strings.Cut(strings.TrimSpace(part), "=")
		value, unit, ok2 := strings.Cut(rest, " ")
		if _, twice := g.text[name]; !ok || !ok2 || twice {
			g.fail("input %q is not name=value unit, or is given twice", part)
			continue
		}
		g.text[name], g.unit[name] = value, unit
	}
	return g
}

func (g *given) fail(format string, args ...any) {
	if g.err == nil {
		g.err = fmt.Errorf(format, args...)
	}
}

func (g *given) has(name string) bool { _, ok := g.text[name]; return ok }

// word is an input that names a thing.
func (g *given) word(name string) string {
	if !g.has(name) {
		g.fail("no input %q", name)
	}
	g.read[name] = true
	return g.text[name]
}

// raw is a number in the unit it is written in.
func (g *given) raw(name string) float64 {
	v := mustNumber(g.word(name))
	if math.IsNaN(v) {
		g.fail("input %s=%q is not a number", name, g.text[name])
	}
	return v
}

// si is a number in SI.
func (g *given) si(name string) float64 {
	v := g.raw(name)
	u, ok := siUnits[g.unit[name]]
	if !ok {
		g.fail("input %s: unit %q is not known", name, g.unit[name])
	}
	return v*u.factor + u.offset
}

// unread is the inputs that the answer did not use.
func (g *given) unread() []string {
	var out []string
	for name := range g.text {
		if !g.read[name] {
			out = append(out, name)
		}
	}
	slices.Sort(out)
	return out
}

// answered answers a row of one number from its inputs by name, in SI; the number
// is turned into the row's unit. Spare are inputs that the formula does not need.
func answered(topic, id string, answer func(*given) (float64, error), spare ...string) family {
	return rows(topic, id, func(r checkRow) ([]float64, error) {
		g := r.given()
		v, err := answer(g)
		u, known := siUnits[r["unit"]]
		switch {
		case g.err != nil:
			return nil, g.err
		case err != nil:
			return nil, err
		case !known:
			return nil, fmt.Errorf("unit %q is not known", r["unit"])
		}
		for _, name := range g.unread() {
			if !slices.Contains(spare, name) {
				return nil, fmt.Errorf("input %q is not read by the formula that answers", name)
			}
		}
		return []float64{(v - u.offset) / u.factor}, nil
	})
}

// byID hands the id of the row to the answer as well.
func byID(topic, id string, answer func(id string, g *given) (float64, error), spare ...string) family {
	f := rows(topic, id, nil)
	f.answer = func(r checkRow) ([]float64, error) {
		one := answered(topic, id, func(g *given) (float64, error) { return answer(r["id"], g) }, spare...)
		return one.answer(r)
	}
	return f
}

// value drops the type of an answer.
func value[Q ~float64](v Q, err error) (float64, error) { return float64(v), err }

func sure[Q ~float64](v Q) (float64, error) { return float64(v), nil }
