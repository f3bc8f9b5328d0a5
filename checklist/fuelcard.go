package checklist

import (
	"time"

	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/quantity"
)

// FuelCard is what the owner keeps in the car: what may be filled, how low the
// tank may go under load, and when the car comes back.
type FuelCard struct {
	EthanolMin schema.Q[quantity.Fraction] `json:"ethanol_min"`
	EthanolMax schema.Q[quantity.Fraction] `json:"ethanol_max"`
	Level      schema.Q[quantity.Fraction] `json:"fuel_level"`         // least for hard driving
	Measured   string                      `json:"measured,omitempty"` // ethanol when it was released, as written
	Recheck    string                      `json:"recheck"`            // by this date
	From       quantity.Length             `json:"-"`                  // or between these odometers
	To         quantity.Length             `json:"-"`                  // whichever comes first; zero: not known
	Odometer   string                      `json:"odometer,omitempty"` // the two as written
	Season     string                      `json:"season,omitempty"`   // month in which the ethanol is measured again
	Yearly     string                      `json:"yearly"`             // date of the yearly check
	Advice     []string                    `json:"advice"`             // in words
}

// Times and distances of what follows a release. Source: common practice.
const (
	RecheckDays   = 30 // at most
	recheckFrom   = quantity.Length(80_000)
	recheckTo     = quantity.Length(160_000)
	ethanolCarMax = quantity.Fraction(0.10) // above it the season's fuel matters
)

// Card makes the fuel card of a car that is released under an envelope, to
// come back by a date (2006-01-02).
func Card(c *state.Car, e schema.Envelope, released time.Time, recheck string) FuelCard {
	card := FuelCard{
		EthanolMin: e.EthanolMin, EthanolMax: e.EthanolMax, Level: e.FuelLevel,
		Recheck: recheck, Yearly: released.AddDate(1, 0, 0).Format(time.DateOnly),
	}
	if r, ok := c.Last("ethanol"); ok {
		if v, ok := r.Value("ethanol"); ok {
			card.Measured = v.Written().String()
		}
	}
	if odometer, ok := lastOdometer(c); ok {
		card.From, card.To = odometer+recheckFrom, odometer+recheckTo
		card.Odometer = quantity.Format(card.From, "km", 0) + " to " + quantity.Format(card.To, "km", 0) +
			" (" + quantity.Format(card.From, "mi", 0) + " to " + quantity.Format(card.To, "mi", 0) + ")"
	}
	card.Advice = []string{"A smell of fuel: stop, do not drive, call the shop."}
	if e.EthanolMax.Or(1) > ethanolCarMax { // not known counts as more
		card.Season = season(released).Format("January 2006")
		card.Advice = append(card.Advice,
			"The word on the pump is a class, not a number: measure the ethanol after filling, and again when summer and winter fuel change.",
			"After filling with another blend drive gently for 10 minutes: line, filter and rail still hold the old one.",
			"Below 5 degC it may not start on summer ethanol; winter fuel exists for that.",
			"Parked for over 30 days: fill it full or run it on low-ethanol fuel. Change the oil sooner.",
			"A new filter after the first 300 to 800 km (200 to 500 mi): ethanol lifts old deposits.")
	}
	return card
}

// season is the month of the next change between summer and winter fuel after a
// day. Months differ by country; April and October are usual in the north.
func season(day time.Time) time.Time {
	for _, m := range []time.Month{time.April, time.October} {
		if first := time.Date(day.Year(), m, 1, 0, 0, 0, 0, time.UTC); first.After(day) {
			return first
		}
	}
	return time.Date(day.Year()+1, time.April, 1, 0, 0, 0, 0, time.UTC)
}

// lastOdometer is the last one that was written down.
func lastOdometer(c *state.Car) (quantity.Length, bool) {
	for i := len(c.VisitEntries) - 1; i >= 0; i-- {
		if o, err := c.VisitEntries[i].Data.Odometer.SI(); err == nil {
			return o, true
		}
	}
	return 0, false
}
