package datalog

import (
	"fmt"
	"math"
	"strings"

	"feedproof/schema/quantity"
)

// Channel is what a column means, whatever the logger called it.
type Channel string

// Channels that are computed with.
const (
	Time         Channel = "time"
	EngineSpeed  Channel = "engine speed"
	Manifold     Channel = "manifold pressure"
	Barometer    Channel = "barometer"
	Rail         Channel = "fuel rail pressure"
	LoggedDrop   Channel = "pressure difference"
	PulseWidth   Channel = "pulse width"
	LoggedDuty   Channel = "injector duty"
	Lambda       Channel = "lambda"
	LambdaTwo    Channel = "lambda bank 2"
	LambdaTarget Channel = "lambda target"
	Battery      Channel = "battery voltage"
	PumpVoltage  Channel = "pump voltage"
	PumpCurrent  Channel = "pump current"
	PumpCommand  Channel = "pump command"
	SecondStage  Channel = "second stage command"
	FuelTemp     Channel = "fuel temperature"
	Ethanol      Channel = "ethanol"
	Throttle     Channel = "throttle"
	FuelLevel    Channel = "fuel level"
	Longitudinal Channel = "longitudinal acceleration"
	Lateral      Channel = "lateral acceleration"
	EthanolRaw   Channel = "ethanol sensor frequency"
	Knock        Channel = "knock"
	Ignition     Channel = "ignition angle"
	OilPressure  Channel = "oil pressure"
	CoolantTemp  Channel = "coolant temperature"
	VehicleSpeed Channel = "vehicle speed"
	Gear         Channel = "gear"
	LoggedTorque Channel = "torque"
	LoggedPower  Channel = "power"
	Marker       Channel = "marker"
	NotUsed      Channel = ""
	stateUnit            = "state" // 0 or 1
	mixtureUnit          = "AFR"   // air-fuel ratio, with the ratio at lambda 1
	sealedAt             = 101325  // Pa, the reference inside a sealed sensor
)

// slot is the place of a channel in a row of values.
type slot int

const (
	sSpeed slot = iota
	sManifold
	sBarometer
	sRail
	sLoggedDrop
	sPulse
	sDuty
	sLambda
	sLambdaTwo
	sTarget
	sBattery
	sPump
	sCurrent
	sCommand
	sStage
	sFuelTemp
	sEthanol
	sThrottle
	sLevel
	sLongitudinal
	sLateral
	slots
	sNone slot = -1
	sTime slot = -2
)

// line turns a number as logged into SI: value*factor + offset.
type line struct{ factor, offset float64 }

// spec is one line of the table of channels.
type spec struct {
	channel Channel
	slot    slot
	units   func(unit string) (line, error) // nil when the channel is not computed with
	usual   []string                        // units it could be, for messages
	sensor  bool                            // a pressure whose reference must be said
	low     float64                         // sane range, SI
	high    float64
	hold    float64  // s for which a value stands when the column is blank
	names   []string // words loggers use for it
}

// specs is the table of channels: their units, sane range and names. Ranges
// are those of common practice.
var specs = []spec{
	{Time, sTime, units[quantity.Duration], usual[quantity.Duration](), false, math.Inf(-1), math.Inf(1), 0,
		[]string{"time", "timestamp", "time stamp", "elapsed", "elapsed time", "log time", "seconds", "zeit", "date time", "datetime"}},
	{EngineSpeed, sSpeed, units[quantity.EngineSpeed], usual[quantity.EngineSpeed](), false, 0, 12000 * quantity.RPM, 0.1,
		[]string{"rpm", "engine speed", "engine rpm", "speed engine", "revs", "drehzahl", "n engine"}},
	{Manifold, sManifold, nil, nil, true, 15e3, 400e3, 0.05,
		[]string{"map", "manifold pressure", "manifold absolute pressure", "manifold press", "inlet pressure", "intake manifold pressure", "boost", "boost pressure", "ladedruck", "manifold"}},
	{Barometer, sBarometer, nil, nil, true, 65e3, 105e3, 30,
		[]string{"baro", "barometer", "barometric pressure", "atmospheric pressure", "ambient pressure", "baro pressure"}},
	{Rail, sRail, nil, nil, true, -10e3, 1000e3, 0.05,
		[]string{"rail", "rail pressure", "fuel pressure", "fuel press", "fuel rail pressure", "fuel rail", "rail press", "kraftstoffdruck", "fp"}},
	{LoggedDrop, sLoggedDrop, units[quantity.Difference], usual[quantity.Difference](), false, -10e3, 1000e3, 0.05,
		[]string{"fuel differential pressure", "differential fuel pressure", "fuel pressure difference", "injector differential pressure", "fuel delta p", "delta p", "injector pressure difference", "pressure difference"}},
	{PulseWidth, sPulse, units[quantity.Duration], usual[quantity.Duration](), false, 0, 25e-3, 0.1,
		[]string{"pulse width", "pulsewidth", "injector pulse width", "inj pw", "pw", "injection time", "inj time", "ipw", "injector on time", "einspritzzeit"}},
	{LoggedDuty, sDuty, units[quantity.Fraction], usual[quantity.Fraction](), false, 0, 1, 0.1,
		[]string{"duty", "injector duty", "inj duty", "injector duty cycle", "inj duty cycle", "idc", "duty cycle"}},
	{Lambda, sLambda, mixture, []string{"lambda", mixtureUnit}, false, 0.65, 1.4, 0.2,
		[]string{"lambda", "lambda 1", "lambda bank 1", "lambda b1", "wideband", "afr", "afr 1", "air fuel ratio", "o2"}},
	{LambdaTwo, sLambdaTwo, mixture, []string{"lambda", mixtureUnit}, false, 0.65, 1.4, 0.2,
		[]string{"lambda 2", "lambda bank 2", "lambda b2", "afr 2", "wideband 2"}},
	{LambdaTarget, sTarget, mixture, []string{"lambda", mixtureUnit}, false, 0.5, 1.5, 1,
		[]string{"lambda target", "target lambda", "afr target", "target afr", "lambda soll", "lambda aim", "commanded lambda"}},
	{Battery, sBattery, units[quantity.Voltage], usual[quantity.Voltage](), false, 9, 16, 0.5,
		[]string{"battery", "battery voltage", "batt", "batt v", "vbat", "vbatt", "ecu voltage", "supply voltage", "volts", "system voltage"}},
	{PumpVoltage, sPump, units[quantity.Voltage], usual[quantity.Voltage](), false, 0, 24, 0.2,
		[]string{"pump voltage", "fuel pump voltage", "pump v", "vpump", "v pump", "pump volts"}},
	{PumpCurrent, sCurrent, units[quantity.Current], usual[quantity.Current](), false, 0, 100, 0.2,
		[]string{"pump current", "fuel pump current", "pump a", "pump amps"}},
	{PumpCommand, sCommand, state, []string{"%", stateUnit}, false, 0, 1, 1,
		[]string{"pump duty", "pump command", "fuel pump duty", "pump pwm", "fuel pump", "pump 1", "pump state"}},
	{SecondStage, sStage, state, []string{"%", stateUnit}, false, 0, 1, 1,
		[]string{"pump 2", "second stage", "stage 2", "fuel pump 2", "second pump", "pump 2 command", "stage 2 command"}},
	{FuelTemp, sFuelTemp, units[quantity.Temperature], usual[quantity.Temperature](), false, 253.15, 363.15, 3,
		[]string{"fuel temp", "fuel temperature", "t fuel", "fuel t", "kraftstofftemperatur"}},
	{Ethanol, sEthanol, units[quantity.Fraction], usual[quantity.Fraction](), false, 0, 1, 3,
		[]string{"ethanol", "ethanol content", "ethanol percent", "flex fuel", "flex", "fuel composition"}},
	{Throttle, sThrottle, units[quantity.Fraction], usual[quantity.Fraction](), false, 0, 1.05, 0.3,
		[]string{"throttle", "tps", "throttle position", "pedal", "pedal position", "accelerator", "app", "drosselklappe"}},
	{FuelLevel, sLevel, units[quantity.Volume], usual[quantity.Volume](), false, 0, 0.2, 5,
		[]string{"fuel level", "tank level", "fuel volume"}},
	{Longitudinal, sLongitudinal, units[quantity.Acceleration], usual[quantity.Acceleration](), false, -30, 30, 0.2,
		[]string{"longitudinal g", "long g", "g long", "accel x", "longitudinal acceleration", "acceleration longitudinal"}},
	{Lateral, sLateral, units[quantity.Acceleration], usual[quantity.Acceleration](), false, -30, 30, 0.2,
		[]string{"lateral g", "lat g", "g lat", "accel y", "lateral acceleration", "acceleration lateral"}},
	{channel: EthanolRaw, slot: sNone, names: []string{"ethanol frequency", "flex frequency", "ethanol hz", "ethanol raw"}},
	{channel: Knock, slot: sNone, names: []string{"knock", "knock level", "knock retard"}},
	{channel: Ignition, slot: sNone, names: []string{"ignition", "ignition angle", "ignition timing", "timing", "spark advance", "advance"}},
	{channel: OilPressure, slot: sNone, names: []string{"oil pressure", "oil press"}},
	{channel: CoolantTemp, slot: sNone, names: []string{"coolant", "coolant temp", "coolant temperature", "ect", "clt", "water temp"}},
	{channel: VehicleSpeed, slot: sNone, names: []string{"vehicle speed", "speed", "ground speed", "wheel speed"}},
	{channel: Gear, slot: sNone, names: []string{"gear"}},
	{channel: LoggedTorque, slot: sNone, names: []string{"torque"}},
	{channel: LoggedPower, slot: sNone, names: []string{"power"}},
	{channel: Marker, slot: sNone, names: []string{"marker", "note", "notes", "comment"}},
}

// Units lists the units a channel is accepted in, the usual first. It is empty
// for a channel that is kept and not computed with.
func Units(c Channel) []string {
	s, ok := specOf(c)
	switch {
	case !ok:
		return nil
	case s.sensor:
		return quantity.Symbols(quantity.Difference(0).Dimension())
	}
	return s.usual
}

func specOf(c Channel) (spec, bool) {
	for _, s := range specs {
		if s.channel == c {
			return s, true
		}
	}
	return spec{}, false
}

func channelOf(s slot) Channel {
	for _, c := range specs {
		if c.slot == s {
			return c.channel
		}
	}
	return NotUsed
}

// units is the conversion of a unit of Q, from the one table of units.
func units[Q quantity.Quantity](unit string) (line, error) {
	zero, err := quantity.Of[Q](quantity.Written{Value: "0", Unit: unit})
	if err != nil {
		return line{}, err
	}
	one, err := quantity.Of[Q](quantity.Written{Value: "1", Unit: unit})
	return line{float64(one - zero), float64(zero)}, err
}

func usual[Q quantity.Quantity]() []string {
	var q Q
	return quantity.Symbols(q.Dimension())
}

// state reads a command as a fraction, or as on and off.
func state(unit string) (line, error) {
	if unit == stateUnit {
		return line{factor: 1}, nil
	}
	return units[quantity.Fraction](unit)
}

// mixture reads lambda. An air-fuel ratio is lambda only with the ratio that
// the logger shows at lambda 1; see [Column.Stoich].
func mixture(unit string) (line, error) {
	if unit == mixtureUnit {
		return line{factor: 1}, nil
	}
	return units[quantity.Lambda](unit)
}

// Sensor is what a pressure sensor measures against.
type Sensor string

// Sensors.
const (
	Gauge    Sensor = "gauge"    // the barometer of the moment
	Absolute Sensor = "absolute" // vacuum
	Sealed   Sensor = "sealed"   // one standard atmosphere shut in, 101.325 kPa
)

// pressure is the conversion of a column of pressure and the sensor it is of.
// The unit may carry the reference, "kPa abs" or "psig"; it must then agree.
func pressure(unit string, sensor Sensor) (line, Sensor, error) {
	said := sensorOf(unit)
	switch {
	case sensor == "" && said == "":
		return line{}, "", fmt.Errorf("say whether the sensor is gauge, absolute or sealed")
	case sensor == "":
		sensor = said
	case said != "" && said != sensor && (said != Gauge || sensor != Sealed):
		return line{}, "", fmt.Errorf("%q is not the unit of a sensor that is %s", unit, sensor)
	}
	switch sensor {
	case Absolute:
		if said == "" {
			unit += " abs"
		}
		l, err := units[quantity.Absolute](unit)
		return l, sensor, err
	case Gauge, Sealed:
		l, err := units[quantity.Gauge](unit)
		return l, sensor, err
	}
	return line{}, "", fmt.Errorf("%q is not gauge, absolute or sealed", string(sensor))
}

func sensorOf(unit string) Sensor {
	switch (quantity.Written{Unit: unit}).Reference() {
	case quantity.ReferenceAbsolute:
		return Absolute
	case quantity.ReferenceGauge, quantity.ReferenceVacuum:
		return Gauge
	}
	return ""
}

// unitWord is the unit as the table of units spells it, when it is one of the
// channel's; loggers write "deg C", "1/min" or "kPa(abs)".
func unitWord(s spec, unit string) (string, bool) {
	unit = strings.NewReplacer("(abs)", " abs", "(a)", " abs", "(g)", " gauge", "(gauge)", " gauge").Replace(strings.TrimSpace(unit))
	unit = strings.Join(strings.Fields(unit), " ")
	try := []string{unit, strings.ToLower(unit)}
	if strings.EqualFold(unit, mixtureUnit) {
		try = append(try, mixtureUnit)
	}
	for _, u := range try {
		if s.accepts(u) {
			return u, true
		}
	}
	return unit, false
}

func (s spec) accepts(unit string) bool {
	if s.sensor {
		sensor := sensorOf(unit)
		if sensor == "" {
			sensor = Gauge
		}
		_, _, err := pressure(unit, sensor)
		return err == nil
	}
	if s.units == nil {
		return false
	}
	_, err := s.units(unit)
	return err == nil
}
