package audit

var tableFits = vehicleTable("fits", fitFacts)

// fitFact is a part in a position.
type fitFact struct {
	Position string   `json:"p"`
	Part     string   `json:"q,omitempty"`
	WhyNone  string   `json:"w,omitempty"`
	Serials  []string `json:"s,omitempty"`
	In       *stamp   `json:"i"`
	Visit    string   `json:"v,omitempty"`
	At       *float64 `json:"k,omitempty"` // odometer when it went in, km
	Out      *stamp   `json:"o,omitempty"`
	Why      string   `json:"y,omitempty"`
	Until    *float64 `json:"u,omitempty"` // odometer when it came out
}

func fitFacts(s subject) []fitFact {
	var out []fitFact
	for _, k := range s.components {
		f := fitFact{Position: k.Data.Position, Part: k.Data.Part, WhyNone: k.Data.WhyNone, Serials: k.Data.Serials, In: stampOf(k.In), Visit: k.Visit.Number}
		f.At = kilometres(k.Visit.Opening.Odometer)
		if k.Out != nil {
			f.Out, f.Why, f.Until = stampOf(*k.Out), k.Why, kilometres(k.Leaves.Opening.Odometer)
		}
		out = append(out, f)
	}
	return out
}
