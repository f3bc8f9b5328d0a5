package schema

import "feedproof/schema/quantity"

// GaugeData describes an instrument.
type GaugeData struct {
	Name       string               `json:"name"`                // what the shop calls it
	Measures   Measures             `json:"measures"`            // what it measures
	Serial     string               `json:"serial,omitempty"`    // serial number on it
	RangeLow   quantity.Written     `json:"range_low,omitzero"`  // lowest value of its scale
	RangeHigh  quantity.Written     `json:"range_high,omitzero"` // highest value of its scale
	Class      Q[quantity.Fraction] `json:"class,omitzero"`      // accuracy class: % of span
	Accuracy   quantity.Written     `json:"accuracy,omitzero"`   // or a plain half-width, in the gauge's unit
	Resolution quantity.Written     `json:"resolution,omitzero"` // smallest division
	Sensor     Sensor               `json:"sensor,omitempty"`    // principle of a gas meter
	SpanGas    string               `json:"span_gas,omitempty"`  // gas meters: what it is calibrated with
	GasFactor  Q[quantity.Fraction] `json:"gas_factor,omitzero"` // gas meters: true = reading x factor for this fuel
}

// EntryKind names the kind.
func (GaugeData) EntryKind() string { return "gauge" }

// Measures is what an instrument measures.
type Measures string

// What instruments measure.
const (
	MeasuresPressure Measures = "pressure"
	MeasuresManifold Measures = "manifold pressure"
	MeasuresVolts    Measures = "voltage"
	MeasuresAmps     Measures = "current"
	MeasuresGas      Measures = "gas"
	MeasuresTorque   Measures = "torque"
	MeasuresOther    Measures = "other"
)

// Values lists the words a Measures may be, for the schema.
func (Measures) Values() []string {
	return []string{"pressure", "manifold pressure", "voltage", "current", "voltage and current", "resistance", "gas", "torque", "temperature", "length", "flow", "ethanol", "lambda", "other"}
}

// Sensor is the principle of a gas meter.
type Sensor string

// Values lists the words a Sensor may be, for the schema.
func (Sensor) Values() []string { return []string{"catalytic", "infrared", "other"} }

// CalibrationData is one calibration of an instrument.
type CalibrationData struct {
	Date        string `json:"date" form:"date"`      // RFC 3339 full-date
	Due         string `json:"due" form:"date"`       // day after which it is out of calibration
	Lab         string `json:"lab,omitempty"`         // who calibrated it
	Certificate string `json:"certificate,omitempty"` // number of the certificate
	Accredited  Answer `json:"accredited,omitempty"`  // ISO/IEC 17025
	AsFound     string `json:"as_found,omitempty"`    // what it showed before it was adjusted
	AsLeft      string `json:"as_left,omitempty"`     // what it showed after
}

// EntryKind names the kind.
func (CalibrationData) EntryKind() string { return "calibration" }

// CheckData is a check of an instrument between calibrations: a gas meter's
// bump test, a zero, a comparison, or the finding that it is bad.
type CheckData struct {
	Check  GaugeCheck       `json:"check"`          // sort of check
	Result CheckResult      `json:"result"`         // whether it may go on being used
	Value  quantity.Written `json:"value,omitzero"` // what it showed
	Note   string           `json:"note,omitempty"` // in words
}

// EntryKind names the kind.
func (CheckData) EntryKind() string { return "check" }

// GaugeCheck is the sort of check.
type GaugeCheck string

// Checks of instruments.
const (
	BumpTest   GaugeCheck = "bump test"
	ZeroCheck  GaugeCheck = "zero"
	Comparison GaugeCheck = "comparison"
)

// Values lists the words a GaugeCheck may be, for the schema.
func (GaugeCheck) Values() []string { return []string{"bump test", "zero", "comparison"} }

// CheckResult is how a check ended.
type CheckResult string

// Results of a check.
const (
	Good CheckResult = "good"
	Bad  CheckResult = "bad"
)

// Values lists the words a CheckResult may be, for the schema.
func (CheckResult) Values() []string { return []string{"good", "bad"} }
