package quantity

import (
	"cmp"
	"maps"
	"slices"
)

// Unit is a unit as the table has it, for its page.
type Unit struct {
	Symbol     string
	Also       []string    // other spellings
	Dimensions []Dimension // what may be written in it
	Factor     float64     // SI value of one, before Offset
	Offset     float64     // SI value of zero
	SI         string      // what the SI value is in
}

// siUnits names the coherent SI unit of each dimension.
var siUnits = map[Dimension]string{
	dimGauge: "Pa", dimAbsolute: "Pa", dimDifference: "Pa", dimFlow: "m3/s", dimMassFlow: "kg/s", dimTemperature: "K", dimTemperatureDif: "K",
	dimVoltage: "V", dimCurrent: "A", dimResistance: "ohm", dimPower: "W", dimLength: "m", dimArea: "m2", dimVolume: "m3", dimMass: "kg",
	dimDensity: "kg/m3", dimViscosity: "m2/s", dimTorque: "N.m", dimSpeed: "m/s", dimAcceleration: "m/s2", dimEngineSpeed: "1/s", dimDuration: "s",
	dimFraction: "ratio", dimLEL: "fraction of the lower explosive limit", dimLambda: "ratio", dimConsumption: "kg/J", dimSpecificEnergy: "J/kg", dimAngle: "rad",
}

// Units lists every unit once, by symbol, with all that may be written in it.
func Units() []Unit {
	found := map[string]Unit{}
	for _, d := range slices.Sorted(maps.Keys(units)) {
		for _, u := range units[d] {
			one, known := found[u.symbol]
			if !known {
				one = Unit{Symbol: u.symbol, Also: slices.Clone(u.aliases), Factor: u.factor, Offset: u.offset, SI: siUnits[d]}
			}
			one.Dimensions = append(one.Dimensions, d)
			found[u.symbol] = one
		}
	}
	return slices.SortedFunc(maps.Values(found), func(a, b Unit) int { return cmp.Compare(a.Symbol, b.Symbol) })
}

// Spelling is one way to write a unit of a dimension: the SI value of a number
// written so is number*Factor + Offset.
type Spelling struct {
	Dimension Dimension
	Text      string
	Factor    float64 // negative for a vacuum
	Offset    float64
	SI        string // what the SI value is in
}

// AllSpellings lists every spelling of every dimension's units.
func AllSpellings() []Spelling {
	var all []Spelling
	for _, d := range slices.Sorted(maps.Keys(units)) {
		for _, text := range Spellings(d) {
			u, sign, err := Written{Value: "1", Unit: text}.resolve(d)
			if err != nil {
				panic("quantity: " + err.Error()) // Spellings lists what resolve takes
			}
			all = append(all, Spelling{d, text, sign * u.factor, u.offset, siUnits[d]})
		}
	}
	return all
}
