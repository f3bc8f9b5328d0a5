package quantity

import (
	"maps"
	"math"
	"slices"
)

// Unit factors to SI. Exact by definition (NIST SP 811 (2008), appendix B.8)
// unless the comment says otherwise; products are computed, not rounded.
const (
	Pascal = 1.0
	KPa    = 1e3
	Bar    = 1e5
	Mbar   = 1e2
	PSI    = poundMass * standardGravity / (inch * inch)
	// InHg is the conventional inch of mercury: 13 595.1 kg/m3 at standard gravity.
	InHg = 13595.1 * standardGravity * inch
	// InH2O is the conventional inch of water: 1 000 kg/m3 at standard gravity.
	InH2O = 1000 * standardGravity * inch

	Litre     = 1e-3
	MilliL    = 1e-6
	GallonUS  = 231 * inch * inch * inch
	LPerH     = Litre / hour
	LPerMin   = Litre / minute
	CCPerMin  = MilliL / minute
	GPH       = GallonUS / hour
	KgPerH    = 1 / hour
	GPerMin   = 1e-3 / minute
	LbPerH    = poundMass / hour
	LbPerMin  = poundMass / minute
	KgPerL    = 1e3
	MM2PerS   = 1e-6
	KW        = 1e3
	HP        = 550 * foot * poundMass * standardGravity // mechanical horsepower, 550 ft.lbf/s
	PS        = 75 * standardGravity                     // metric horsepower, 75 kgf.m/s
	KgPerKWh  = 1 / (KW * hour)
	GPerKWh   = 1e-3 / (KW * hour)
	LbPerHPH  = poundMass / (HP * hour)
	MJPerKg   = 1e6
	MM        = 1e-3
	CM        = 1e-2
	KM        = 1e3
	Inch      = inch
	Foot      = foot
	Mile      = 5280 * foot
	MM2       = 1e-6
	LbfFt     = poundMass * standardGravity * foot
	LbfIn     = poundMass * standardGravity * inch
	KmPerH    = KM / hour
	G         = standardGravity
	RPM       = 1 / minute
	MS        = 1e-3
	Minute    = minute
	Hour      = hour
	MilliOhm  = 1e-3
	MilliVolt = 1e-3
	MegaOhm   = 1e6
	Percent   = 1e-2
	Pound     = poundMass
	Gram      = 1e-3

	inch            = 0.0254
	foot            = 12 * inch
	poundMass       = 0.45359237
	standardGravity = 9.80665
	minute          = 60.0
	hour            = 3600.0
	zeroCelsius     = 273.15
	degreesPerTurn  = 360.0
)

// unit is one line of the table: how it is printed, other spellings that are
// accepted, and value_SI = value*factor + offset.
type unit struct {
	symbol   string
	aliases  []string
	factor   float64
	offset   float64
	decimals int // decimals of a default print
}

var pressureUnits = []unit{
	{symbol: "bar", aliases: []string{"bars"}, factor: Bar, decimals: 2},
	{symbol: "psi", aliases: []string{"PSI", "lbf/in2", "lbf/in²"}, factor: PSI, decimals: 1},
	{symbol: "kPa", aliases: []string{"kpa"}, factor: KPa, decimals: 1},
	{symbol: "mbar", aliases: []string{"hPa"}, factor: Mbar, decimals: 0},
	{symbol: "inHg", aliases: []string{"in.Hg", "in Hg"}, factor: InHg, decimals: 1},
	{symbol: "inH2O", aliases: []string{"in H2O", "inWC"}, factor: InH2O, decimals: 1},
}

// units is the whole table. Order matters: the first unit of a dimension is
// the one the program prints when nobody asked for another.
var units = map[Dimension][]unit{
	dimGauge:      pressureUnits,
	dimAbsolute:   reorder(pressureUnits, "kPa"),
	dimDifference: pressureUnits,
	dimFlow: {
		{symbol: "L/h", aliases: []string{"l/h", "lph", "LPH"}, factor: LPerH, decimals: 1},
		{symbol: "L/min", aliases: []string{"l/min", "lpm", "LPM"}, factor: LPerMin, decimals: 3},
		{symbol: "gph", aliases: []string{"gal/h", "GPH", "US gal/h"}, factor: GPH, decimals: 1},
		{symbol: "cc/min", aliases: []string{"cm3/min", "ml/min", "mL/min"}, factor: CCPerMin, decimals: 0},
	},
	dimMassFlow: {
		{symbol: "kg/h", factor: KgPerH, decimals: 1},
		{symbol: "lb/h", aliases: []string{"lb/hr", "pph"}, factor: LbPerH, decimals: 1},
		{symbol: "g/min", factor: GPerMin, decimals: 1},
		{symbol: "g/s", factor: Gram, decimals: 2},
		{symbol: "lb/min", factor: LbPerMin, decimals: 2},
	},
	dimTemperature: {
		{symbol: "degC", aliases: []string{"°C", "C", "deg C"}, factor: 1, offset: zeroCelsius, decimals: 1},
		{symbol: "degF", aliases: []string{"°F", "F", "deg F"}, factor: 5.0 / 9, offset: zeroCelsius - 32*5.0/9, decimals: 1},
		{symbol: "K", factor: 1, decimals: 1},
	},
	dimTemperatureDif: {
		{symbol: "K", aliases: []string{"degC", "°C"}, factor: 1, decimals: 1},
		{symbol: "degF", aliases: []string{"°F"}, factor: 5.0 / 9, decimals: 1},
	},
	dimVoltage: {
		{symbol: "V", aliases: []string{"v", "volt", "volts"}, factor: 1, decimals: 2},
		{symbol: "mV", factor: MilliVolt, decimals: 0},
	},
	dimCurrent: {
		{symbol: "A", aliases: []string{"a", "amp", "amps"}, factor: 1, decimals: 1},
		{symbol: "mA", factor: 1e-3, decimals: 0},
	},
	dimResistance: {
		{symbol: "ohm", aliases: []string{"Ω", "ohms"}, factor: 1, decimals: 2},
		{symbol: "mohm", aliases: []string{"mΩ"}, factor: MilliOhm, decimals: 1},
		{symbol: "kohm", aliases: []string{"kΩ"}, factor: 1e3, decimals: 2},
		{symbol: "Mohm", aliases: []string{"MΩ"}, factor: MegaOhm, decimals: 2},
	},
	dimPower: {
		{symbol: "kW", aliases: []string{"kw"}, factor: KW, decimals: 1},
		{symbol: "hp", aliases: []string{"HP", "bhp"}, factor: HP, decimals: 0},
		{symbol: "PS", aliases: []string{"ps", "cv", "metric hp"}, factor: PS, decimals: 0},
		{symbol: "W", factor: 1, decimals: 0},
	},
	dimLength: {
		{symbol: "mm", factor: MM, decimals: 1},
		{symbol: "m", factor: 1, decimals: 2},
		{symbol: "cm", factor: CM, decimals: 1},
		{symbol: "in", aliases: []string{"inch", "\""}, factor: Inch, decimals: 3},
		{symbol: "ft", factor: Foot, decimals: 2},
		{symbol: "km", factor: KM, decimals: 0},
		{symbol: "mi", aliases: []string{"mile", "miles"}, factor: Mile, decimals: 0},
		{symbol: "um", aliases: []string{"µm", "micron"}, factor: 1e-6, decimals: 1},
	},
	dimArea: {
		{symbol: "mm2", aliases: []string{"mm²"}, factor: MM2, decimals: 2},
	},
	dimVolume: {
		{symbol: "L", aliases: []string{"l", "litre", "liter", "litres", "liters"}, factor: Litre, decimals: 2},
		{symbol: "mL", aliases: []string{"ml", "cc", "cm3"}, factor: MilliL, decimals: 0},
		{symbol: "gal", aliases: []string{"US gal"}, factor: GallonUS, decimals: 2},
	},
	dimMass: {
		{symbol: "kg", factor: 1, decimals: 2},
		{symbol: "g", factor: Gram, decimals: 1},
		{symbol: "lb", factor: Pound, decimals: 2},
	},
	dimDensity: {
		{symbol: "kg/L", aliases: []string{"kg/l", "g/cc", "g/cm3", "g/mL"}, factor: KgPerL, decimals: 4},
		{symbol: "kg/m3", aliases: []string{"kg/m³"}, factor: 1, decimals: 1},
	},
	dimViscosity: {
		{symbol: "mm2/s", aliases: []string{"mm²/s", "cSt"}, factor: MM2PerS, decimals: 2},
	},
	dimTorque: {
		{symbol: "N.m", aliases: []string{"Nm", "N·m", "N m"}, factor: 1, decimals: 1},
		{symbol: "lbf.ft", aliases: []string{"lbf·ft", "lbf ft", "ft.lbf", "ft-lb", "lb-ft", "ftlb"}, factor: LbfFt, decimals: 1},
		{symbol: "lbf.in", aliases: []string{"lbf·in", "lbf in", "in.lbf", "in-lb", "lb-in", "inlb"}, factor: LbfIn, decimals: 0},
	},
	dimSpeed: {
		{symbol: "m/s", factor: 1, decimals: 2},
		{symbol: "ft/s", factor: Foot, decimals: 1},
		{symbol: "km/h", factor: KmPerH, decimals: 0},
	},
	dimAcceleration: {
		{symbol: "g", factor: G, decimals: 2},
		{symbol: "m/s2", aliases: []string{"m/s²"}, factor: 1, decimals: 2},
	},
	dimEngineSpeed: {
		{symbol: "rpm", aliases: []string{"RPM", "1/min", "r/min"}, factor: RPM, decimals: 0},
	},
	dimDuration: {
		{symbol: "s", aliases: []string{"sec"}, factor: 1, decimals: 1},
		{symbol: "ms", factor: MS, decimals: 2},
		{symbol: "min", factor: Minute, decimals: 0},
		{symbol: "h", factor: Hour, decimals: 1},
	},
	dimFraction: {
		{symbol: "%", aliases: []string{"percent", "% v/v", "% vol"}, factor: Percent, decimals: 1},
		{symbol: "ratio", factor: 1, decimals: 3},
	},
	dimLEL: {
		{symbol: "% LEL", aliases: []string{"%LEL", "% lel", "%lel"}, factor: Percent, decimals: 1},
	},
	dimLambda: {
		{symbol: "lambda", aliases: []string{"λ", "Lambda"}, factor: 1, decimals: 3},
	},
	dimConsumption: {
		{symbol: "kg/kWh", aliases: []string{"kg/kW.h"}, factor: KgPerKWh, decimals: 3},
		{symbol: "g/kWh", factor: GPerKWh, decimals: 0},
		{symbol: "lb/(hp.h)", aliases: []string{"lb/hp.h", "lb/hph", "lb/(hp·h)", "lb/hp/h"}, factor: LbPerHPH, decimals: 3},
	},
	dimSpecificEnergy: {
		{symbol: "MJ/kg", factor: MJPerKg, decimals: 2},
		{symbol: "kJ/kg", factor: 1e3, decimals: 0},
	},
	dimAngle: {
		{symbol: "deg", aliases: []string{"°"}, factor: 2 * math.Pi / degreesPerTurn, decimals: 0},
	},
}

func reorder(list []unit, first string) []unit {
	out := make([]unit, 0, len(list))
	for _, u := range list {
		if u.symbol == first {
			out = append(out, u)
		}
	}
	for _, u := range list {
		if u.symbol != first {
			out = append(out, u)
		}
	}
	return out
}

// lookup finds a unit of a dimension by symbol or alias. Case matters: mohm is
// not Mohm.
func lookup(d Dimension, symbol string) (unit, bool) {
	for _, u := range units[d] {
		if u.symbol == symbol {
			return u, true
		}
		for _, a := range u.aliases {
			if a == symbol {
				return u, true
			}
		}
	}
	return unit{}, false
}

// Symbols lists the units of a dimension as they are printed, the usual first.
func Symbols(d Dimension) []string {
	var out []string
	for _, u := range units[d] {
		out = append(out, u.symbol)
	}
	return out
}

// Spellings lists every way the unit of a dimension may be written: symbols
// and aliases, and for pressures each with the references it may carry.
func Spellings(d Dimension) []string {
	var plain []string
	for _, u := range units[d] {
		plain = append(append(plain, u.symbol), u.aliases...)
	}
	signs, isPressure := accepted[d]
	if !isPressure {
		return plain
	}
	var out []string
	for _, s := range plain {
		for _, word := range slices.Sorted(maps.Keys(referenceWords)) {
			if _, ok := signs[referenceWords[word]]; ok {
				out = append(out, s+" "+word)
			}
		}
		if _, ok := signs[ReferenceNone]; ok {
			out = append(out, s)
		}
	}
	for _, glued := range slices.Sorted(maps.Keys(gluedUnits)) {
		if _, r := split(glued); signs[r] != 0 {
			out = append(out, glued)
		}
	}
	return out
}

// Alternatives lists the other units of the quantities that a unit is of.
func Alternatives(unit string) []string {
	symbol, _ := split(unit)
	var out []string
	for _, d := range slices.Sorted(maps.Keys(units)) {
		if _, is := lookup(d, symbol); !is {
			continue
		}
		for _, other := range Symbols(d) {
			if other != symbol && !slices.Contains(out, other) {
				out = append(out, other)
			}
		}
	}
	return out
}
