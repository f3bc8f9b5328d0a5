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
	f.Lapsed = f.Lapsed || state.Lapsed(g, r.Entry.At)
	last := len(f.Unbumped) - 1
	if r.Data.Test == "gas" && !state.Bumped(g, r.Entry.At) && (last < 0 || f.Unbumped[last].Entry != r.Entry.ID) {
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
