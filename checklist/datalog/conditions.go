package datalog

import (
	"errors"
	"fmt"

	"feedproof/schema/quantity"
)

// Answer is yes, no, or not known. Not known is treated as the worse of the two.
type Answer string

// Answers.
const (
	Yes     Answer = "yes"
	No      Answer = "no"
	Unknown Answer = ""
)

// Conditions are what has to be known beside the log. A zero value means not
// known; what depends on it is then not computed and is said to be unproven.
type Conditions struct {
	Barometer quantity.Absolute // when it is not logged
	Cylinders int               // for the injection frequency

	HoseOff    Span                // idle with the regulator's reference hose off, in this log
	Base       quantity.Difference // base pressure, hose off, when this log has no such idle
	SameSensor bool                // Base was read on the sensor of this log, in this session

	Injectors   Injectors
	Consumption quantity.SpecificConsumption // for implied power
	Target      quantity.Lambda              // when it is not logged

	Charger      Answer              // was a battery charger connected
	LowLevel     quantity.Volume     // below this slosh is likely
	StageAt      quantity.Absolute   // manifold pressure at which the second stage is to start
	HealthyNoise quantity.Difference // standard deviation of the pressure difference in a good log of this car
}

// Span is a time from and to in the log's own time. A zero Span is none.
type Span struct {
	From quantity.Duration `json:"from"`
	To   quantity.Duration `json:"to"`
}

func (s Span) holds(at float64) bool {
	return s.To > s.From && at >= float64(s.From) && at <= float64(s.To)
}

// hoseSlack is how far off the time may be at which a person says that the
// reference hose came off or on.
const hoseSlack = 1.0 // s

// near reports that the hose may have been off.
func (s Span) near(at float64) bool {
	return s.To > s.From && at >= float64(s.From)-hoseSlack && at <= float64(s.To)+hoseSlack
}

// Injectors are what turns pulse width into fuel.
type Injectors struct {
	Count  int
	Static quantity.MassFlow   // of one, held open, on the fuel in the tank, at Rated
	Rated  quantity.Difference // the pressure difference of Static
	// Dead is the time an injector takes to open less that to close.
	Dead func(quantity.Voltage, quantity.Difference) quantity.Duration
}

func (i Injectors) known() bool { return i.Count > 0 && i.Static > 0 && i.Rated > 0 && i.Dead != nil }

// Validate reports conditions that cannot be.
func (c Conditions) Validate() error {
	var wrong []error
	if c.Barometer != 0 && (c.Barometer < 50e3 || c.Barometer > 110e3) {
		wrong = append(wrong, fmt.Errorf("conditions: a barometer of %s cannot be: 50 to 110 kPa abs", quantity.Text(c.Barometer)))
	}
	if c.Cylinders < 0 || c.Cylinders > 24 {
		wrong = append(wrong, fmt.Errorf("conditions: %d cylinders: 1 to 24", c.Cylinders))
	}
	if c.Base < 0 {
		wrong = append(wrong, fmt.Errorf("conditions: a base pressure of %s cannot be", quantity.Text(c.Base)))
	}
	if c.HoseOff.To < c.HoseOff.From {
		wrong = append(wrong, fmt.Errorf("conditions: the hose-off idle ends before it begins"))
	}
	return errors.Join(wrong...)
}
