// Package quantity holds the physical quantities that feedproof records and
// computes with, as types, and the units a shop writes them in.
//
// Every type is a float64 in its coherent SI unit, so mixing two kinds does
// not compile, and gauge, absolute and difference pressures are three kinds.
// Text enters through [Parse] or [Of] and leaves through [Format]; a number
// without a unit never crosses a package. Units are one table (units.go):
// adding a unit is adding a line.
//
// What is longer or larger than anything a shop measures is refused.
//
// What is deliberately absent: a default unit. A bare number is refused with
// the units it could have been.
package quantity

// Dimension names what a quantity measures, as the messages say it.
type Dimension string

// Dimensions known to the unit table. The three pressures share their units
// but not their meaning, and are told apart by [Written.Reference].
const (
	dimGauge          Dimension = "gauge pressure"
	dimAbsolute       Dimension = "absolute pressure"
	dimDifference     Dimension = "pressure difference"
	dimFlow           Dimension = "volume flow"
	dimMassFlow       Dimension = "mass flow"
	dimTemperature    Dimension = "temperature"
	dimTemperatureDif Dimension = "temperature difference"
	dimVoltage        Dimension = "voltage"
	dimCurrent        Dimension = "current"
	dimResistance     Dimension = "resistance"
	dimPower          Dimension = "power"
	dimLength         Dimension = "length"
	dimArea           Dimension = "area"
	dimVolume         Dimension = "volume"
	dimMass           Dimension = "mass"
	dimDensity        Dimension = "density"
	dimViscosity      Dimension = "kinematic viscosity"
	dimTorque         Dimension = "torque"
	dimSpeed          Dimension = "speed"
	dimAcceleration   Dimension = "acceleration"
	dimEngineSpeed    Dimension = "engine speed"
	dimDuration       Dimension = "duration"
	dimFraction       Dimension = "fraction"
	dimLEL            Dimension = "gas reading"
	dimLambda         Dimension = "lambda"
	dimConsumption    Dimension = "specific consumption"
	dimSpecificEnergy Dimension = "specific energy"
	dimAngle          Dimension = "angle"
)

// Quantities. The comment gives the SI unit of the number inside.
type (
	// Gauge is a pressure above the barometer, Pa. Negative is vacuum.
	Gauge float64
	// Absolute is a pressure above vacuum, Pa.
	Absolute float64
	// Difference is a pressure between two points, Pa.
	Difference float64
	// Flow is a volume flow, m3/s.
	Flow float64
	// MassFlow is a mass flow, kg/s.
	MassFlow float64
	// Temperature is a thermodynamic temperature, K.
	Temperature float64
	// TemperatureDifference is a difference of temperatures, K.
	TemperatureDifference float64
	// Voltage is in V.
	Voltage float64
	// Current is in A.
	Current float64
	// Resistance is in ohm.
	Resistance float64
	// Power is in W.
	Power float64
	// Length is in m.
	Length float64
	// Area is in m2.
	Area float64
	// Volume is in m3.
	Volume float64
	// Mass is in kg.
	Mass float64
	// Density is in kg/m3.
	Density float64
	// Viscosity is kinematic, m2/s.
	Viscosity float64
	// Torque is in N.m. It has the dimension of energy and is not one.
	Torque float64
	// Speed is in m/s.
	Speed float64
	// Acceleration is in m/s2.
	Acceleration float64
	// EngineSpeed is in revolutions per second.
	EngineSpeed float64
	// Duration is in s. Wall-clock times use time.Time instead.
	Duration float64
	// Fraction is a ratio; 1 is 100 %. Ethanol content is a volume fraction.
	Fraction float64
	// LEL is a gas reading as a fraction of the lower explosive limit. It is
	// not a volume fraction, and depends on the calibration gas.
	LEL float64
	// Lambda is the air-fuel ratio over the stoichiometric one.
	Lambda float64
	// SpecificConsumption is fuel mass per shaft energy, kg/J.
	SpecificConsumption float64
	// SpecificEnergy is energy per mass, J/kg.
	SpecificEnergy float64
	// Angle is in rad.
	Angle float64
)

// Quantity is any of the types of this package.
type Quantity interface {
	~float64
	Dimension() Dimension
}

// Dimension says what the type measures.
func (Gauge) Dimension() Dimension { return dimGauge }

// Dimension says what the type measures.
func (Absolute) Dimension() Dimension { return dimAbsolute }

// Dimension says what the type measures.
func (Difference) Dimension() Dimension { return dimDifference }

// Dimension says what the type measures.
func (Flow) Dimension() Dimension { return dimFlow }

// Dimension says what the type measures.
func (MassFlow) Dimension() Dimension { return dimMassFlow }

// Dimension says what the type measures.
func (Temperature) Dimension() Dimension { return dimTemperature }

// Dimension says what the type measures.
func (TemperatureDifference) Dimension() Dimension { return dimTemperatureDif }

// Dimension says what the type measures.
func (Voltage) Dimension() Dimension { return dimVoltage }

// Dimension says what the type measures.
func (Current) Dimension() Dimension { return dimCurrent }

// Dimension says what the type measures.
func (Resistance) Dimension() Dimension { return dimResistance }

// Dimension says what the type measures.
func (Power) Dimension() Dimension { return dimPower }

// Dimension says what the type measures.
func (Length) Dimension() Dimension { return dimLength }

// Dimension says what the type measures.
func (Area) Dimension() Dimension { return dimArea }

// Dimension says what the type measures.
func (Volume) Dimension() Dimension { return dimVolume }

// Dimension says what the type measures.
func (Mass) Dimension() Dimension { return dimMass }

// Dimension says what the type measures.
func (Density) Dimension() Dimension { return dimDensity }

// Dimension says what the type measures.
func (Viscosity) Dimension() Dimension { return dimViscosity }

// Dimension says what the type measures.
func (Torque) Dimension() Dimension { return dimTorque }

// Dimension says what the type measures.
func (Speed) Dimension() Dimension { return dimSpeed }

// Dimension says what the type measures.
func (Acceleration) Dimension() Dimension { return dimAcceleration }

// Dimension says what the type measures.
func (EngineSpeed) Dimension() Dimension { return dimEngineSpeed }

// Dimension says what the type measures.
func (Duration) Dimension() Dimension { return dimDuration }

// Dimension says what the type measures.
func (Fraction) Dimension() Dimension { return dimFraction }

// Dimension says what the type measures.
func (LEL) Dimension() Dimension { return dimLEL }

// Dimension says what the type measures.
func (Lambda) Dimension() Dimension { return dimLambda }

// Dimension says what the type measures.
func (SpecificConsumption) Dimension() Dimension { return dimConsumption }

// Dimension says what the type measures.
func (SpecificEnergy) Dimension() Dimension { return dimSpecificEnergy }

// Dimension says what the type measures.
func (Angle) Dimension() Dimension { return dimAngle }

// Above is the absolute pressure of a gauge pressure over a barometer.
func (g Gauge) Above(barometer Absolute) Absolute { return Absolute(g) + barometer }

// Over is the gauge pressure of an absolute pressure over a barometer.
func (a Absolute) Over(barometer Absolute) Gauge { return Gauge(a - barometer) }

// Minus is the difference between two gauge pressures.
func (g Gauge) Minus(other Gauge) Difference { return Difference(g - other) }

// Plus raises a gauge pressure by a difference.
func (g Gauge) Plus(d Difference) Gauge { return g + Gauge(d) }

// Minus is the difference between two temperatures.
func (t Temperature) Minus(other Temperature) TemperatureDifference {
	return TemperatureDifference(t - other)
}

// Celsius is the temperature of so many degrees Celsius.
func Celsius(c float64) Temperature { return Temperature(c + zeroCelsius) }

// Celsius is the temperature in degrees Celsius.
func (t Temperature) Celsius() float64 { return float64(t) - zeroCelsius }
