package audit

import (
	"slices"

	"feedproof/checklist/past"
	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/quantity"
)

// Stays, with and without what is long in them.
var (
	tableBounded = vehicleTable("visits", visitFacts)
	tableVisits  = part[visitFact](tableBounded)
)

// visitFact is one stay.
type visitFact struct {
	No      string           `json:"n"`
	Kinds   []schema.JobKind `json:"k,omitempty"`
	Reason  string           `json:"r,omitempty"`
	Words   string           `json:"w,omitempty"`
	Open    *stamp           `json:"o"`
	Close   *stamp           `json:"c,omitempty"`
	In      *float64         `json:"i,omitempty"` // odometer, km
	Out     *float64         `json:"u,omitempty"`
	Release *stamp           `json:"s,omitempty"`
	RuleSet string           `json:"rs,omitempty"`
	Due     string           `json:"due,omitempty"`
	Recheck *stamp           `json:"rc,omitempty"` // HP11 closed after the release, in whichever visit
	Workers []string         `json:"by,omitempty"`
	Leak    *stamp           `json:"lk,omitempty"` // first leak or smell seen in this visit before a joint was opened
}

// boundedVisit is one stay as the table holds it, with what was declared on
// arrival and the envelope of the release. They are long, and few ask for them.
type boundedVisit struct {
	visitFact
	Declared *schema.Declared `json:"d,omitempty"`
	Envelope *schema.Envelope `json:"l,omitempty"`
}

func visitFacts(s subject) []boundedVisit {
	var out []boundedVisit
	for _, v := range s.visits {
		f := boundedVisit{Declared: v.Opening.Declared}
		f.visitFact = visitFact{No: v.Number, Kinds: v.Opening.Kinds, Reason: v.Opening.Reason, Words: v.Opening.Words, Open: stampOf(v.Open)}
		f.In, f.Out = kilometres(v.Opening.Odometer), kilometres(v.Closing.Odometer)
		if v.Close != nil {
			f.Close = stampOf(*v.Close)
		}
		if v.Release != nil {
			st := v.Release.Statement
			f.Release, f.Envelope, f.RuleSet, f.Due = stampOf(v.Release.Entry), &st.Envelope, st.RuleSet, st.Recheck
			f.Workers = v.Workers(v.Release.Entry)
			f.Recheck = recheck(s.car, v.Release.Entry)
		}
		f.Leak = leakOnArrival(v, s.readings)
		out = append(out, f)
	}
	return out
}

func kilometres(q schema.Q[quantity.Length]) *float64 {
	x, err := q.SI()
	if err != nil {
		return nil
	}
	km := quantity.In(x, "km")
	return &km
}

// recheck is the first closing of HP11 after a release.
func recheck(c *state.Car, release schema.Entry) *stamp {
	for _, p := range c.Points {
		if p.Data.Point == "HP11" && p.Data.Action == schema.ClosePoint && schema.Order(p.Entry, release) > 0 {
			return stampOf(p.Entry)
		}
	}
	return nil
}

// leakOnArrival is the first leak, damp or smell that was seen before anything
// was fitted, removed or done in the visit.
func leakOnArrival(v past.Visit, readings map[string]schema.ReadingData) *stamp {
	for _, e := range v.Entries {
		switch e.Kind {
		case "step", "fit", "remove":
			return nil
		case "caution":
			if d, is := past.As[schema.CautionData](e); is && d.Caution == "K20" && d.State == schema.CautionSeen {
				return stampOf(e)
			}
		case "reading":
			if slices.ContainsFunc(readings[e.ID].Values, func(v schema.Value) bool { return v.Seen == "wet" || v.Seen == "damp" || v.Seen == "smell" }) {
				return stampOf(e)
			}
		}
	}
	return nil
}
