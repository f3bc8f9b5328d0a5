package sheet

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
	unit, reference, _ := strings.Cut(w.Unit, " ")
	twin, ok := twins[unit]
	if !ok {
		return w.String()
	}
	for _, convert := range []func(quantity.Written, string, int) (string, bool){
		converted[quantity.Absolute], converted[quantity.Gauge], converted[quantity.Flow], converted[quantity.Power],
	} {
		if text, ok := convert(w, strings.TrimSpace(twin.other+" "+reference), twin.decimals); ok {
			return fmt.Sprintf("%s (%s)", w, text)
		}
	}
	return w.String()
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
