package audit

import (
	"slices"

	"feedproof/checklist/past"
	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/quantity"
)

var tableCars = vehicleTable("cars", func(s subject) []carFact { return []carFact{carFactOf(s.car, s.visits)} })

// carFact is what a car is and how it stands.
type carFact struct {
	Name    string `json:"n"`
	Plate   string `json:"p,omitempty"`
	VIN     string `json:"v,omitempty"`
	Owner   string `json:"o,omitempty"`
	Here    bool   `json:"h,omitempty"` // a visit is open
	Held    *stamp `json:"x,omitempty"` // the hold that stands
	Stopped bool   `json:"s,omitempty"` // a finding of that hold says STOP
	Ethanol *stamp `json:"e,omitempty"` // last ethanol reading
	Ended   *stamp `json:"c,omitempty"` // the shop's care for it ended
	Keep    string `json:"k,omitempty"` // until when its record is kept then
	Blend   bool   `json:"f,omitempty"` // its last plan or envelope allows more than 10 % ethanol, or does not know
}

// ethanolCar is the share above which a car counts as one on ethanol. Source:
// common practice, as the rules for materials have it.
const ethanolCar = quantity.Fraction(0.10)

func carFactOf(c *state.Car, visits []past.Visit) carFact {
	f := carFact{Name: c.Vehicle.Name, Plate: c.Vehicle.Plate, VIN: c.Vehicle.VIN, Owner: c.Vehicle.Owner}
	f.Here = len(visits) > 0 && visits[len(visits)-1].Close == nil
	if c.Held != nil {
		f.Held = stampOf(*c.Held)
		if d, is := past.As[schema.HoldData](*c.Held); is {
			f.Stopped = slices.ContainsFunc(d.Findings, func(f schema.Finding) bool { return f.Severity == schema.Stop })
		}
	}
	for _, r := range c.Readings {
		if r.Data.Test == "ethanol" {
			f.Ethanol = stampOf(r.Entry)
		}
	}
	if care, ended := past.CareEnded(c, visits); ended {
		f.Ended, f.Keep = stampOf(care.Entry), care.Until
	}
	if c.Plan != nil {
		most, err := c.Plan.Envelope.EthanolMax.SI()
		f.Blend = err != nil || most > ethanolCar
	}
	return f
}
