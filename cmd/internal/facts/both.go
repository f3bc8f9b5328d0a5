package facts

import (
	"fmt"
	"strings"

	"feedproof/schema/quantity"
)

// pair is how a unit is also shown in the other system.
type pair struct {
	other    string
	decimals int
}

// twins gives the units of each quantity that the two systems write in
// different ones.
var twins = map[string]pair{
	"bar": {"psi", 1}, "psi": {"bar", 2}, "kPa": {"psi", 1}, "mbar": {"psi", 2}, "inHg": {"bar", 3},
	"L/h": {"gph", 1}, "gph": {"L/h", 1}, "L/min": {"gph", 1},
	"kW": {"hp", 0}, "hp": {"kW", 0}, "PS": {"kW", 0},
}

// Both is a written quantity with its twin in the other system of units:
// "43.5 psi (3.00 bar)". Quantities that both systems write alike stand alone.
func Both(w quantity.Written) string {
	if twin := inTwin(w, twins); twin != "" {
		return fmt.Sprintf("%s (%s)", w, twin)
	}
	return w.String()
}

// further gives the units of which the twin is shown where there is room for
// it: beside a box in which a value is typed.
var further = map[string]pair{
	"degC": {"degF", 0}, "degF": {"degC", 1}, "N.m": {"lbf.ft", 1}, "lbf.ft": {"N.m", 1}, "lbf.in": {"N.m", 2},
	"L": {"gal", 2}, "mL": {"gal", 3}, "gal": {"L", 2}, "mm": {"in", 3}, "in": {"mm", 1}, "cm": {"in", 2},
}

// Twin is a written quantity in the other system of units alone; empty when
// both write it alike.
func Twin(w quantity.Written) string {
	if text := inTwin(w, twins); text != "" {
		return text
	}
	return inTwin(w, further)
}

func inTwin(w quantity.Written, table map[string]pair) string {
	unit, reference, _ := strings.Cut(w.Unit, " ")
	twin, ok := table[unit]
	if !ok {
		return ""
	}
	for _, convert := range []func(quantity.Written, string, int) (string, bool){
		converted[quantity.Absolute], converted[quantity.Gauge], converted[quantity.Difference], converted[quantity.Flow], converted[quantity.Power],
		converted[quantity.Temperature], converted[quantity.Torque], converted[quantity.Volume], converted[quantity.Length],
	} {
		if text, ok := convert(w, strings.TrimSpace(twin.other+" "+reference), twin.decimals); ok {
			return text
		}
	}
	return ""
}

func converted[T quantity.Quantity](w quantity.Written, unit string, decimals int) (string, bool) {
	q, err := quantity.Of[T](w)
	if err != nil {
		return "", false
	}
	return quantity.Format(q, unit, decimals), true
}

// both prints a quantity in two units.
func both[T quantity.Quantity](q T, first string, decimals int, second string, more int) string {
	return fmt.Sprintf("%s (%s)", quantity.Format(q, first, decimals), quantity.Format(q, second, more))
}

// Two prints a quantity in two units: "3.00 bar (43.5 psi)".
func Two[T quantity.Quantity](q T, first string, decimals int, second string, more int) string {
	return both(q, first, decimals, second, more)
}
