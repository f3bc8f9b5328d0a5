package procedures

import (
	"slices"

	"feedproof/schema"
	"feedproof/schema/quantity"
)

// Field is something about the job that a condition may ask for. The list is
// closed: a condition on any other name is a defect of the data.
//
// What a record does not say counts as the worse case: an answer is taken for
// yes, a word for any of its words, a quantity for over every limit. Fields are
// worded so that yes is the worse answer.
type Field struct {
	Name      string
	Means     string
	From      string // the entries of a vehicle record that answer it
	Type      FieldType
	Words     []string           // of a word: what it may be
	Dimension quantity.Dimension // of a quantity
}

// FieldType is how a field is compared.
type FieldType string

// Field types. An answer and a word are compared by Condition.Is, a quantity
// by Condition.Over.
const (
	FieldAnswer   FieldType = "answer"
	FieldWord     FieldType = "word"
	FieldQuantity FieldType = "quantity"
)

// FindField finds a field by name.
func FindField(name string) (Field, bool) {
	i := slices.IndexFunc(Fields, func(f Field) bool { return f.Name == name })
	if i < 0 {
		return Field{}, false
	}
	return Fields[i], true
}

// Fields is the closed list, in the order of the alphabet.
var Fields = []Field{
	answer("alone", "one person only is in the shop while fuel is open",
		"who wrote the entries of each day on which a joint was opened: two people on every such day is no; otherwise unknown"),
	answer("boosted", "the engine runs above atmospheric pressure",
		"vehicle induction turbo or supercharger, or a plan whose manifold pressure is over 105 kPa abs; natural without such a plan is no"),
	answer("changed_bay", "the car was moved while its fuel system was open",
		"visit entries that name another bay after a joint was opened and before the next leak test; none is no"),
	answer("charger", "a battery charger is connected",
		"conditions of the last reading; none says so: unknown"),
	answer("check_valve", "the pump has a check valve that holds pressure when it stops",
		"pump data of the part in position pump; no part record: unknown"),
	answer("compressed_air", "compressed air is used on the tank, a line or the regulator reference",
		"job kinds b, c, d, i, or a reading tank air or slope; otherwise no"),
	answer("crash_zone", "fuel parts were moved or added where a crash or the cabin matters",
		"job kinds c, d, g, or a fit in a position of tank, surge tank or cabin line; otherwise no"),
	answer("cuts_tank", "a tank is drilled, sawn, ground, welded or soldered",
		"job kind c, or a step recorded that opens by cutting a tank; otherwise no"),
	answer("drains_fuel", "fuel is taken out of the tank or the lines",
		"job kinds a, c, d, f, g, i, or a draining step recorded; otherwise no"),
	answer("electric_pump", "a pump is driven by electricity",
		"a plan with pumps, or a part of kind pump fitted: yes; fuel system other than carburettor: yes; otherwise unknown"),
	answer("emission_controlled", "the car was built with emission controls",
		"vehicle entry"),
	answer("emissions_touched", "evaporative parts, the fuel or the engine control change",
		"job kinds b, c, d, e, f, g, i; kind a or h alone is no"),
	amount("ethanol_max", "most ethanol the car is released for", quantity.Fraction(0).Dimension(),
		"plan envelope, not today's tank"),
	word("fuel_system", "how fuel reaches the engine", schema.FuelSystem("").Values(),
		"vehicle entry; kind h is carburettor"),
	answer("first_visit", "the shop has no earlier visit of this car",
		"visit entries: a closed one before the open one is no"),
	answer("handover", "work passed from one person to another in the middle, or one person worked over 10 h",
		"a step started by one person and done by another or left started, or entries of one person more than 10 h apart in one day; otherwise no"),
	answer("high_voltage", "the car has a high-voltage battery",
		"vehicle entry"),
	answer("hose_submerged", "a hose lies in fuel inside the tank",
		"job kinds a, c, or a fit in the position in-tank hose: yes; a tank that is not opened: no; otherwise unknown"),
	answer("hot_work", "welding, grinding or other hot work on the car near fuel, the tank apart",
		"job kinds c, d, or caution K11 seen; otherwise no"),
	word("induction", "how the engine breathes", schema.Induction("").Values(),
		"vehicle entry"),
	answer("injection", "fuel is injected, so base pressure, regulator and duty mean something",
		"fuel system of the vehicle: anything but carburettor is yes; job kind h is no"),
	answer("leak_seen", "fuel was seen or smelled outside",
		"a leak, slope parking or gas reading that shows it, or caution K20 seen, with no dry leak reading after it; none is no"),
	answer("lifted", "wheels are off the ground",
		"step B5 done is yes, not applicable is no; otherwise unknown"),
	answer("opens_fuel", "a fuel joint is opened",
		"a step or fit recorded that opens one, or a step of the job kinds that does; a visit without either is no"),
	answer("opens_pressurised", "a joint that carries pressure is opened",
		"as opens_fuel, for rail, feed, filter or regulator"),
	answer("opens_tank", "the tank, its flange or its vent is opened",
		"job kinds a, c, i, or a step recorded that does, or a fit or removal in a position of module, tank or vent; kinds d, e, g: unknown; otherwise no"),
	answer("owner_supplied", "parts or fuel came from the customer",
		"receipt of a fitted part in state customer's, or a fit without a part because it is the customer's; a fit with neither part nor reason: unknown"),
	answer("pump_changed", "a pump is handled on the bench",
		"job kinds a, c, d, e, g, or a fit in a pump position; otherwise no"),
	word("pump_class", "the pressure class of the pump that is fitted", schema.PumpClass("").Values(),
		"pump data of the part in position pump; no part record: unknown"),
	amount("rail_max", "highest rail pressure of the envelope", quantity.Gauge(0).Dimension(),
		"plan: base pressure, and for a referenced regulator the manifold pressure above 101.3 kPa; or the highest rail pressure read, when that is more"),
	word("regulator", "how fuel pressure is controlled", schema.RegulatorKind("").Values(),
		"plan"),
	answer("rewires", "the pump's supply is renewed or changed",
		"job kinds c, d, e, g, or a fit or removal in a position of wiring, relay or fuse, or a step of block E recorded; otherwise no"),
	answer("road_use", "the car is used on public roads",
		"vehicle entry"),
	answer("several_pumps", "more than one pump can feed the engine or the surge tank",
		"job kinds e, g, or a plan with more than one pump, or a fit in position pump 2; otherwise no"),
	answer("several_rails", "injectors sit on more than one rail",
		"plan: count of rails; no plan: unknown"),
	answer("shared_air", "another bay shares the air, or is nearer than 11 m (35 ft)",
		"the bay of the visit and the shop's entry for it; a bay that nobody described: unknown"),
	amount("spill", "fuel spilled in this visit", quantity.Volume(0).Dimension(),
		"spill readings, the largest; caution K33 seen without a reading: unknown; neither: none"),
	amount("surface", "hottest surface near the work", quantity.Temperature(0).Dimension(),
		"surface reading; none: unknown"),
	answer("tank_ever_fuelled", "the tank has held fuel at any time",
		"vehicle entry; a car that was driven here is yes"),
	answer("tank_out", "the tank is lifted, lowered or carried",
		"job kinds c, d, or step C3 recorded; otherwise no"),
}

func answer(name, means, from string) Field {
	return Field{Name: name, Means: means, From: from, Type: FieldAnswer}
}

func word(name, means string, words []string, from string) Field {
	return Field{Name: name, Means: means, From: from, Type: FieldWord, Words: words}
}

func amount(name, means string, d quantity.Dimension, from string) Field {
	return Field{Name: name, Means: means, From: from, Type: FieldQuantity, Dimension: d}
}
