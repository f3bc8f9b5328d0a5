package car

import (
	"slices"
	"strings"

	"feedproof/checklist/procedures"
	"feedproof/schema"
	"feedproof/schema/quantity"
)

// Applies reports that all conditions hold. What is not known counts as the
// worse case: it holds.
func (c *Car) Applies(when []procedures.Condition) bool {
	for _, cond := range when {
		if !c.holds(cond) {
			return false
		}
	}
	return true
}

func (c *Car) holds(cond procedures.Condition) bool {
	field, ok := fields[cond.Field]
	if !ok {
		return true
	}
	value, known := field(c)
	if !known {
		return true
	}
	if cond.Over != "" {
		return over(value, cond.Over)
	}
	return value == cond.Is
}

// over compares two written quantities of the same dimension.
func over(value, limit string) bool {
	for _, compare := range []func(a, b string) (bool, error){
		larger[quantity.Fraction], larger[quantity.Gauge], larger[quantity.Volume], larger[quantity.Temperature], larger[quantity.Length],
	} {
		if yes, err := compare(value, limit); err == nil {
			return yes
		}
	}
	return true
}

func larger[T quantity.Quantity](a, b string) (bool, error) {
	x, err := quantity.Parse[T](a)
	if err != nil {
		return false, err
	}
	y, err := quantity.Parse[T](b)
	return x > y, err
}

// field answers a condition's field from the record: a word or a written
// quantity, and whether it is known.
type field func(*Car) (string, bool)

// fields evaluates the fields that procedures names.
var fields = map[string]field{
	"road_use":            func(c *Car) (string, bool) { return answer(c.Vehicle.RoadUse) },
	"emission_controlled": func(c *Car) (string, bool) { return answer(c.Vehicle.EmissionControlled) },
	"tank_ever_fuelled":   func(c *Car) (string, bool) { return answer(c.Vehicle.TankEverFuelled) },
	"high_voltage":        func(c *Car) (string, bool) { return answer(c.Vehicle.HighVoltage) },
	"induction":           func(c *Car) (string, bool) { return string(c.Vehicle.Induction), c.Vehicle.Induction != "" },
	"fuel_system":         func(c *Car) (string, bool) { return string(c.Vehicle.FuelSystem), c.Vehicle.FuelSystem != "" },
	"injection": func(c *Car) (string, bool) {
		return isWord(string(c.Vehicle.FuelSystem), func(s string) bool { return s != "carburettor" })
	},
	"boosted": func(c *Car) (string, bool) {
		return isWord(string(c.Vehicle.Induction), func(s string) bool { return s != "natural" })
	},
	"first_visit": func(c *Car) (string, bool) { return yesNo(len(c.Visits) <= 1), true },
	"regulator":   (*Car).regulatorField,
	"check_valve": (*Car).checkValveField,
	"ethanol_max": func(c *Car) (string, bool) {
		return planned(c, func(p schema.PlanData) string { return p.Envelope.EthanolMax.String() }, func(p schema.PlanData) bool { return p.Envelope.EthanolMax.Known() })
	},
	"several_pumps": func(c *Car) (string, bool) {
		return planned(c, func(p schema.PlanData) string { return yesNo(p.Pumps.Count > 1) }, always)
	},
	"opens_fuel": func(c *Car) (string, bool) {
		return yesNo(c.willOpen(procedures.OpensFuel, procedures.OpensPressure, procedures.OpensTankCut)), true
	},
	"opens_pressurised": func(c *Car) (string, bool) { return yesNo(c.willOpen(procedures.OpensPressure)), true },
	"cuts_tank":         func(c *Car) (string, bool) { return yesNo(c.Has("c")), true },
	"opens_tank":        func(c *Car) (string, bool) { return yesNo(c.Has("a", "c", "d", "e", "i")), true },
	"rewires":           func(c *Car) (string, bool) { return yesNo(c.Has("c", "d", "e", "g") || c.fits("wiring")), true },
	"electric_pump":     func(c *Car) (string, bool) { return yesNo(true), c.Plan != nil },
}

func always(schema.PlanData) bool { return true }

func answer(a schema.Answer) (string, bool) {
	return string(a), a == schema.Yes || a == schema.No
}

func yesNo(b bool) string {
	if b {
		return string(schema.Yes)
	}
	return string(schema.No)
}

func isWord(word string, test func(string) bool) (string, bool) {
	return yesNo(test(word)), word != ""
}

func planned(c *Car, value func(schema.PlanData) string, known func(schema.PlanData) bool) (string, bool) {
	if c.Plan == nil || !known(*c.Plan) {
		return "", false
	}
	return value(*c.Plan), true
}

func (c *Car) regulatorField() (string, bool) {
	if c.Plan == nil || c.Plan.Regulator == nil {
		return "", false
	}
	return string(c.Plan.Regulator.Kind), true
}

func (c *Car) checkValveField() (string, bool) {
	f, ok := c.Fitted["pump"]
	if !ok || f.Part == nil || f.Part.Pump == nil {
		return "", false
	}
	return answer(f.Part.Pump.CheckValve)
}

// willOpen reports that a step of the visit's jobs opens something, or that
// something was opened.
func (c *Car) willOpen(kinds ...procedures.Opening) bool {
	return slices.ContainsFunc(c.Book.For(c.Kinds()), func(s procedures.Step) bool { return slices.Contains(kinds, s.Opens) })
}

// fits reports that something was fitted in this visit in a position that
// starts with the word.
func (c *Car) fits(word string) bool {
	return slices.ContainsFunc(c.Changes, func(ch Change) bool { return c.InVisit(ch.Entry) && strings.HasPrefix(ch.Position, word) })
}
