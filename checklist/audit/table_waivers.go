package audit

import (
	"feedproof/checklist/past"
	"feedproof/schema"
)

var tableWaivers = vehicleTable("waivers", waiverFacts)

// waiverFact is a waiver.
type waiverFact struct {
	stamp
	Finding  string        `json:"f"`
	Measured string        `json:"m,omitempty"`
	Expires  string        `json:"x"`
	Informed schema.Answer `json:"i"`
	Why      string        `json:"y,omitempty"` // in small letters, single spaces
	Visit    string        `json:"v"`
	Left     *stamp        `json:"l,omitempty"` // the sign-off under which the car left with it
}

func waiverFacts(s subject) []waiverFact {
	var out []waiverFact
	for _, w := range s.car.Waivers {
		v, _ := past.VisitAt(s.visits, w.Entry)
		f := waiverFact{stamp: *stampOf(w.Entry), Finding: w.Data.Key(), Measured: schema.Text(w.Data.Values), Expires: w.Data.Expires, Informed: w.Data.Informed, Why: plainWords(w.Data.Why), Visit: v.Number}
		if v.Release != nil && schema.Order(w.Entry, v.Release.Entry) < 0 {
			f.Left = stampOf(v.Release.Entry)
		}
		out = append(out, f)
	}
	return out
}
