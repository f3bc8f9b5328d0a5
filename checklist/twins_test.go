package checklist_test

import (
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"feedproof/checklist"
	"feedproof/schema"
	"feedproof/schema/quantity"
)

// TestScenariosInOtherUnits rewrites every quantity of every scenario in the
// other system of units; the findings must be the same to the letter.
func TestScenariosInOtherUnits(t *testing.T) {
	for _, sc := range loadScenarios(t) {
		if sc.Refused != "" || asWritten[sc.ID] {
			continue
		}
		t.Run(sc.ID, func(t *testing.T) {
			t.Parallel()
			b := sc.situation(t).build(t)
			twin := sc.situation(t)
			if n := twin.rewrite(); n < 100 {
				t.Fatalf("only %d quantities were rewritten", n)
			}
			other := twin.build(t)
			want := checklist.Evaluate(b.record, b.shop, b.moment)
			got := checklist.Evaluate(other.record, other.shop, other.moment)
			if diff := cmp.Diff(want, got, halfDivisions); diff != "" {
				t.Errorf("findings differ (-SI +US):\n%s", diff)
			}
		})
	}
}

// asWritten are scenarios of a slip between units: in which unit a number would
// fit depends on the one in which it was written.
var asWritten = map[string]bool{"T081": true, "X11 psi": true}

// halfDivisions: the uncertainty of a value that no gauge was named for is half
// its last digit, and that depends on the unit in which it was written.
var halfDivisions = cmpopts.IgnoreFields(schema.Amount{}, "U")

// rewrite converts every quantity to another unit and counts them.
func (s *situation) rewrite() int {
	s.own()
	n := 0
	for _, list := range s.lists() {
		for _, c := range list {
			if c.Kind != "acknowledge" && c.Kind != "waive" { // they say what a finding said, in its units
				n += convertAll(c.Data, "")
			}
		}
	}
	return n
}

// widths are the fields that hold a half-width or a division: they are scaled
// without the zero of the unit.
var widths = map[string]bool{"accuracy": true, "resolution": true}

func convertAll(v any, field string) int {
	n := 0
	switch x := v.(type) {
	case map[string]any:
		if convert(x, field) {
			n++
		}
		for k, e := range x {
			n += convertAll(e, k)
		}
	case []any:
		for _, e := range x {
			n += convertAll(e, field)
		}
	}
	return n
}

// convert rewrites an object that holds a value and a unit.
func convert(x map[string]any, field string) bool {
	value, ok1 := x["value"].(string)
	unit, ok2 := x["unit"].(string)
	other, known := otherUnit[unit]
	if !ok1 || !ok2 || !known {
		return false
	}
	w := other(quantity.Written{Value: value, Unit: unit}, widths[field])
	x["value"], x["unit"] = w.Value, w.Unit
	return true
}

// twinDecimals are enough for 1e-9 of the value in every unit used.
const twinDecimals = 12

// to makes the converter of one kind of quantity into a unit.
func to[Q quantity.Quantity](unit string) func(quantity.Written, bool) quantity.Written {
	return func(w quantity.Written, width bool) quantity.Written {
		q, err := quantity.Of[Q](w)
		if width {
			q, err = quantity.Width[Q](w)
			one, err2 := quantity.Width[Q](quantity.Written{Value: "1", Unit: unit})
			if err == nil && err2 == nil {
				ratio := quantity.Write(quantity.Fraction(q/one), "ratio", twinDecimals)
				return quantity.Written{Value: ratio.Value, Unit: unit}
			}
		}
		if err != nil {
			return w
		}
		return quantity.Write(q, unit, twinDecimals)
	}
}

var otherUnit = map[string]func(quantity.Written, bool) quantity.Written{
	"bar": to[quantity.Difference]("psi"), "psi": to[quantity.Difference]("bar"),
	"kPa": to[quantity.Difference]("inH2O"), "inH2O": to[quantity.Difference]("kPa"),
	"kPa abs": to[quantity.Absolute]("inHg abs"), "inHg abs": to[quantity.Absolute]("kPa abs"),
	"psi abs": to[quantity.Absolute]("bar abs"), "inHg vacuum": to[quantity.Gauge]("kPa vacuum"),
	"L/h": to[quantity.Flow]("gph"), "gph": to[quantity.Flow]("L/h"), "cc/min": to[quantity.Flow]("gph"),
	"kg/h": to[quantity.MassFlow]("lb/h"), "lb/h": to[quantity.MassFlow]("kg/h"),
	"degC": to[quantity.Temperature]("degF"), "degF": to[quantity.Temperature]("degC"),
	"V": to[quantity.Voltage]("mV"), "A": to[quantity.Current]("mA"),
	"ohm": to[quantity.Resistance]("mohm"), "mohm": to[quantity.Resistance]("ohm"), "Mohm": to[quantity.Resistance]("kohm"),
	"kW": to[quantity.Power]("hp"), "hp": to[quantity.Power]("kW"), "PS": to[quantity.Power]("hp"),
	"mm": to[quantity.Length]("in"), "m": to[quantity.Length]("ft"), "in": to[quantity.Length]("mm"), "ft": to[quantity.Length]("m"), "km": to[quantity.Length]("mi"),
	"L": to[quantity.Volume]("gal"), "mL": to[quantity.Volume]("gal"), "gal": to[quantity.Volume]("L"),
	"kg/L": to[quantity.Density]("kg/m3"), "N.m": to[quantity.Torque]("lbf.ft"), "lbf.ft": to[quantity.Torque]("N.m"),
	"kg/kWh": to[quantity.SpecificConsumption]("lb/(hp.h)"), "lb/(hp.h)": to[quantity.SpecificConsumption]("kg/kWh"),
	"s": to[quantity.Duration]("ms"), "ms": to[quantity.Duration]("s"), "min": to[quantity.Duration]("s"),
	"%": to[quantity.Fraction]("ratio"), "ratio": to[quantity.Fraction]("%"),
}
