package fuel

import (
	"fmt"

	"feedproof/schema/quantity"
)

// Supply is the wiring of one pump, or the voltage measured at its terminals.
type Supply struct {
	Terminal    quantity.Voltage // measured or planned at full load; zero: computed
	Source      quantity.Voltage // at the alternator or battery
	Area        quantity.Area    // of the copper
	Feed        quantity.Length
	Ground      quantity.Length
	Contacts    quantity.Resistance  // relay, fuse, connectors together
	Temperature quantity.Temperature // of the wire; zero: 20 degC
	Fuse        quantity.Current     // zero: none fitted or unknown
	Ampacity    quantity.Current     // of the wire in its bundle; zero unknown
}

// CopperResistivity at 20 degC, 100 % IACS, in ohm m. Source: IEC 60028, 1/58 ohm mm2/m.
const CopperResistivity = 1e-6 / 58

// WireResistance of copper at temperature: L/(58 A) (1 + 0.00393 (T-20 degC)).
// Range -60 to 200 degC. Tin-plated stranded aircraft wire has 11 to 27 % more
// per gauge. Source: IEC 60028.
func WireResistance(length quantity.Length, area quantity.Area, t quantity.Temperature) (quantity.Resistance, error) {
	err := first(notNegative("wire length", length), positive("wire area", area), within("wire temperature", t, celsius(-60), celsius(200)))
	if err != nil {
		return 0, err
	}
	return quantity.Resistance(CopperResistivity * float64(length) / float64(area) * CopperAt(t)), nil
}

// CopperAt is the resistance of copper at t over that at 20 degC.
func CopperAt(t quantity.Temperature) float64 { return 1 + 0.00393*(float64(t)-293.15) }

// VoltageDrop is I R.
func VoltageDrop(i quantity.Current, r quantity.Resistance) quantity.Voltage {
	return quantity.Voltage(float64(i) * float64(r))
}

// FuseWindow is the fuse sizes that carry a continuous current: from 1.25 times
// it to 1.6 times it (common practice), or to the next standard size at or above
// 1.25 times it where none lies between. Never more than the wire's ampacity.
func FuseWindow(i quantity.Current) (low, high quantity.Current) {
	low, high = 1.25*i, 1.6*i
	for _, f := range bladeFuses {
		if f >= low*(1-1e-9) {
			return low, max(high, f)
		}
	}
	return low, high
}

// FuseClass is the time-current class of the fuses that are reckoned with.
const FuseClass = "blade fuse with the gates of ISO 8820-3 (from memory): holds 110 % for 100 h, opens at 135 % within 0.75 s to 10 min, at 200 % within 0.15 to 5 s"

// Inrush of a pump motor for 20 to 100 ms (common practice).
const (
	InrushLow  = 3
	InrushHigh = 5
)

// FuseGate is how long a blade fuse carries an overload before it must open.
type FuseGate struct {
	Load       quantity.Fraction // of the rating
	AtLeast    quantity.Duration
	NoMoreThan quantity.Duration // zero: not limited
}

// FuseGates of blade fuses, from memory of ISO 8820-3 and not verified: 110 %
// is held for 100 h, 135 % may take ten minutes. A fuse protects the wire.
var FuseGates = []FuseGate{
	{1.10, 100 * quantity.Hour, 0},
	{1.35, 0.75, 600},
	{2.00, 0.15, 5},
	{3.50, 0.08, 0.5},
}

var bladeFuses = []quantity.Current{3, 5, 7.5, 10, 15, 20, 25, 30, 35, 40, 50, 60, 80}

// BladeFuses lists the standard sizes within the window for a current and
// under the wire's ampacity (zero: unknown, not applied).
func BladeFuses(i, ampacity quantity.Current) []quantity.Current {
	low, high := FuseWindow(i)
	var fit []quantity.Current
	for _, f := range bladeFuses {
		if f >= low*(1-1e-9) && f <= high && (ampacity == 0 || f <= ampacity) {
			fit = append(fit, f)
		}
	}
	return fit
}

// Electrical is the state of a pump's wiring at full load.
type Electrical struct {
	Terminal   quantity.Voltage // used for delivery
	Measured   bool             // Terminal was given, not computed
	Computed   quantity.Voltage // from the wiring; zero without wiring
	Lost       quantity.Voltage // source to pump and back
	GroundLost quantity.Voltage
	Resistance quantity.Resistance
	Current    quantity.Current // of the hungriest pump
	AllPumps   quantity.Current
	Known      bool // the curve gives current
	Power      quantity.Power
	Efficiency quantity.Fraction
	FuseLow    quantity.Current
	FuseHigh   quantity.Current
	Fuses      []quantity.Current // standard sizes that fit
}

// loop is the resistance of feed, ground and contacts, and of the ground side alone.
func (s Supply) loop() (all, ground quantity.Resistance, err error) {
	t := s.Temperature
	if t == 0 {
		t = Reference
	}
	feed, err := WireResistance(s.Feed, s.Area, t)
	if err != nil {
		return 0, 0, fmt.Errorf("pump feed %w", err)
	}
	ground, err = WireResistance(s.Ground, s.Area, t)
	if err != nil {
		return 0, 0, fmt.Errorf("pump ground %w", err)
	}
	return feed + ground + s.Contacts, ground, nil
}

func (s Supply) wired() bool { return s.Area != 0 && s.Source != 0 }

func (s Supply) validate() error {
	if s.Terminal == 0 && !s.wired() {
		return fmt.Errorf("supply: give the voltage at the pump, or the source voltage and the wire")
	}
	if s.Terminal != 0 {
		if err := within("pump terminal voltage", s.Terminal, 5, 60); err != nil {
			return err
		}
	}
	if s.Source != 0 {
		if err := within("source voltage", s.Source, 5, 60); err != nil {
			return err
		}
	}
	if s.wired() {
		if err := first(notNegative("supply contacts", s.Contacts), notNegative("fuse", s.Fuse), notNegative("wire ampacity", s.Ampacity)); err != nil {
			return err
		}
		_, _, err := s.loop()
		return err
	}
	return nil
}

// PumpVoltage is the fixed point V = source - R I(V) of a wire and what it
// feeds. Current that does not fall as volts rise has exactly one.
func PumpVoltage(source quantity.Voltage, r quantity.Resistance, draw func(quantity.Voltage) quantity.Current) quantity.Voltage {
	return crossing(0, source, func(v quantity.Voltage) float64 { return float64(source - VoltageDrop(draw(v), r) - v) })
}
