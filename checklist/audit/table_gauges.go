package audit

import (
	"slices"
	"time"

	"feedproof/checklist/state"
	"feedproof/schema"
)

var tableGauges = vehicleTable("gauges", gaugeFacts)

// gaugeFact is how a car's readings used one gauge.
type gaugeFact struct {
	Gauge    string   `json:"g"`
	Days     []string `json:"d"`           // dates of use, in order, each once
	Lapsed   bool     `json:"l,omitempty"` // some reading was after the due date that was copied with it
	Unbumped []useRow `json:"u,omitempty"` // gas readings without a bump test on the same day before them
}

// useRow is a reading and the last bump test before it.
type useRow struct {
	stamp
	Bumped string `json:"u,omitempty"`
}

func gaugeFacts(s subject) []gaugeFact {
	var out []gaugeFact
	for _, r := range s.car.Readings {
		for _, v := range r.Data.Values {
			if v.Gauge == nil {
				continue
			}
			i := slices.IndexFunc(out, func(f gaugeFact) bool { return f.Gauge == v.Gauge.Gauge })
			if i < 0 {
				out, i = append(out, gaugeFact{Gauge: v.Gauge.Gauge}), len(out)
			}
			out[i].use(r, *v.Gauge)
		}
	}
	return out
}

func (f *gaugeFact) use(r state.Reading, g schema.GaugeSnapshot) {
	f.Days = addSorted(f.Days, r.Entry.At.UTC().Format(time.DateOnly))
	f.Lapsed = f.Lapsed || lapsed(r.Entry.At, g.Due)
	last := len(f.Unbumped) - 1
	if r.Data.Test == "gas" && !bumped(r.Entry, g) && (last < 0 || f.Unbumped[last].Entry != r.Entry.ID) {
		f.Unbumped = append(f.Unbumped, useRow{*stampOf(r.Entry), g.Bumped})
	}
}

func addSorted(list []string, s string) []string {
	i, there := slices.BinarySearch(list, s)
	if there {
		return list
	}
	return slices.Insert(list, i, s)
}

// lapsed reports that a gauge was past its due date, or had none, when it was
// read, as the copy in the reading says. The due date itself is in date.
func lapsed(at time.Time, dueDate string) bool {
	due, err := time.Parse(time.DateOnly, dueDate)
	return err != nil || at.After(due.AddDate(0, 0, 1))
}

// bumped reports a bump test on the day of the reading, before it.
func bumped(e schema.Entry, g schema.GaugeSnapshot) bool {
	at, err := time.Parse(time.RFC3339, g.Bumped)
	return err == nil && !at.After(e.At) && at.UTC().Format(time.DateOnly) == e.At.UTC().Format(time.DateOnly)
}
