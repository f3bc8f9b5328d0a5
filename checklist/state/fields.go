package state

import (
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

// fields evaluates the fields that procedures names, as that list words them.
var fields = map[string]field{
	"alone":               (*Car).aloneField,
	"boosted":             (*Car).boostedField,
	"changed_bay":         (*Car).changedBayField,
	"charger":             (*Car).chargerField,
	"check_valve":         (*Car).checkValveField,
	"compressed_air":      sure(func(c *Car) bool { return c.Has("b", "c", "d", "i") || c.hasReading("tank air", "slope") }),
	"crash_zone":          sure(func(c *Car) bool { return c.Has("c", "d", "g") || c.touched("tank", "surge tank", "cabin line") }),
	"cuts_tank":           sure(func(c *Car) bool { return c.Has("c") || c.opened(procedures.OpensTankCut) }),
	"drains_fuel":         sure(func(c *Car) bool { return c.Has("a", "c", "d", "f", "g", "i") || c.hasStep("C1", "a4") }),
	"electric_pump":       (*Car).electricPumpField,
	"emission_controlled": func(c *Car) (string, bool) { return answer(c.Vehicle.EmissionControlled) },
	"emissions_touched":   sure(func(c *Car) bool { return c.Has("b", "c", "d", "e", "f", "g", "i") }),
	"ethanol_max": func(c *Car) (string, bool) {
		return planned(c, func(p schema.PlanData) (string, bool) { q := p.Envelope.EthanolMax; return q.String(), q.Known() })
	},
	"fuel_system":       (*Car).fuelSystemField,
	"first_visit":       sure(func(c *Car) bool { return len(c.Visits) <= 1 }),
	"handover":          sure((*Car).handedOver),
	"high_voltage":      func(c *Car) (string, bool) { return answer(c.Vehicle.HighVoltage) },
	"hose_submerged":    (*Car).hoseSubmergedField,
	"hot_work":          sure(func(c *Car) bool { return c.Has("c", "d") || c.seen("K11") }),
	"induction":         func(c *Car) (string, bool) { return string(c.Vehicle.Induction), c.Vehicle.Induction != "" },
	"injection":         (*Car).injectionField,
	"leak_seen":         sure((*Car).leakSeen),
	"lifted":            (*Car).liftedField,
	"opens_fuel":        sure(func(c *Car) bool { return len(c.VisitOpenings()) > 0 || c.willOpen() }),
	"opens_pressurised": sure(func(c *Car) bool { return c.openedPressure() || c.willOpen(procedures.OpensPressure) }),
	"opens_tank":        (*Car).opensTankField,
	"owner_supplied":    (*Car).ownerSuppliedField,
	"pump_changed":      sure(func(c *Car) bool { return c.Has("a", "c", "d", "e", "g") || c.touched("pump") }),
	"pump_class":        (*Car).pumpClassField,
	"rail_max":          (*Car).railMaxField,
	"regulator":         (*Car).regulatorField,
	"rewires": sure(func(c *Car) bool {
		return c.Has("c", "d", "e", "g") || c.touched("wiring", "relay", "fuse") || c.hasStepOf("E")
	}),
	"road_use": func(c *Car) (string, bool) { return answer(c.Vehicle.RoadUse) },
	"several_pumps": sure(func(c *Car) bool {
		return c.Has("e", "g") || c.Plan != nil && c.Plan.Pumps.Count > 1 || c.touched("pump 2")
	}),
	"several_rails": func(c *Car) (string, bool) {
		return planned(c, func(p schema.PlanData) (string, bool) {
			if p.Rails == nil {
				return "", false
			}
			return yesNo(p.Rails.Count > 1), true
		})
	},
	"shared_air":        (*Car).sharedAirField,
	"spill":             (*Car).spillField,
	"surface":           func(c *Car) (string, bool) { return c.lastWritten("surface", "temperature") },
	"tank_ever_fuelled": func(c *Car) (string, bool) { return answer(c.Vehicle.TankEverFuelled) },
	"tank_out":          sure(func(c *Car) bool { return c.Has("c", "d") || c.hasStep("C3") }),
}

// sure wraps a question that the record always answers.
func sure(ask func(*Car) bool) field {
	return func(c *Car) (string, bool) { return yesNo(ask(c)), true }
}

func answer(a schema.Answer) (string, bool) {
	return string(a), a == schema.Yes || a == schema.No
}

func yesNo(b bool) string {
	if b {
		return string(schema.Yes)
	}
	return string(schema.No)
}

func planned(c *Car, value func(schema.PlanData) (string, bool)) (string, bool) {
	if c.Plan == nil {
		return "", false
	}
	return value(*c.Plan)
}
