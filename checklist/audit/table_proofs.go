package audit

import (
	"slices"

	"feedproof/checklist/past"
	"feedproof/schema"
)

var tableProofs = vehicleTable("proofs", proofFacts)

// proofFact is what a visit measured with which gauges, in order, and which
// hold points were closed on it.
type proofFact struct {
	Visit    string        `json:"v"`
	Release  *stamp        `json:"s,omitempty"`
	Signed   int           `json:"l,omitempty"` // how many of the readings the sign-off came after
	Readings []readFact    `json:"r"`
	Closings []closingFact `json:"p,omitempty"`
}

// readFact is a reading and its gauges.
type readFact struct {
	Entry  string     `json:"e"`
	Unix   int64      `json:"t"`
	Test   string     `json:"k"`
	Gauges []gaugeDue `json:"g,omitempty"`
}

// gaugeDue is a gauge with the due date that was copied with a value.
type gaugeDue struct {
	Gauge string `json:"g"`
	Due   string `json:"d,omitempty"`
}

// closingFact is a hold point being closed after so many readings.
type closingFact struct {
	Entry string   `json:"e"`
	Point string   `json:"p"`
	After int      `json:"n"`
	Rests []string `json:"r,omitempty"`
}

func proofFacts(s subject) []proofFact {
	var out []proofFact
	for _, v := range s.visits {
		f := proofFact{Visit: v.Number}
		for _, e := range v.Entries {
			if d, is := s.readings[e.ID]; is {
				f.Readings = append(f.Readings, readFactOf(e, d))
			}
			if d, is := past.As[schema.HoldPointData](e); is && d.Action == schema.ClosePoint {
				f.Closings = append(f.Closings, closingFact{e.ID, d.Point, len(f.Readings), d.Rests})
			}
			if v.Release != nil && e.ID == v.Release.Entry.ID {
				f.Release, f.Signed = stampOf(e), len(f.Readings)
			}
		}
		if len(f.Readings) > 0 {
			out = append(out, f)
		}
	}
	return out
}

func readFactOf(e schema.Entry, d schema.ReadingData) readFact {
	f := readFact{Entry: e.ID, Unix: e.At.Unix(), Test: d.Test}
	for _, v := range d.Values {
		if v.Gauge == nil {
			continue
		}
		if g := (gaugeDue{v.Gauge.Gauge, v.Gauge.Due}); !slices.Contains(f.Gauges, g) {
			f.Gauges = append(f.Gauges, g)
		}
	}
	return f
}
