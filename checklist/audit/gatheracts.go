package audit

import (
	"slices"
	"strings"
	"time"

	"feedproof/checklist/past"
	"feedproof/checklist/procedures"
	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/quantity"
)

// pointFact is a hold point that was closed late or out of order.
type pointFact struct {
	stamp
	Point  string `json:"p"`
	Second string `json:"s,omitempty"`
	Visit  string `json:"v"`
	Why    string `json:"w"`
	Before string `json:"a,omitempty"` // the entry of the act that came first
}

func pointFacts(c *state.Car, visits []past.Visit, readings map[string]schema.ReadingData) []pointFact {
	var out []pointFact
	for _, v := range visits {
		closed := map[string]bool{}
		for _, p := range past.Of[schema.HoldPointData](v) {
			if p.Data.Action != schema.ClosePoint {
				continue
			}
			f := pointFact{stamp: *stampOf(p.Entry), Point: p.Data.Point, Second: p.Data.Second, Visit: v.Number}
			template, _ := c.Book.Point(p.Data.Point)
			act, acted := firstAct(c, v, readings, template.Guards)
			switch {
			case p.Data.Late != "":
				f.Why = "late: " + p.Data.Late
			case template.After != "" && !closed[template.After]:
				f.Why = "before " + template.After
			case acted && !closed[template.ID] && schema.Order(act, p.Entry) < 0:
				f.Why, f.Before = "after the "+string(template.Guards)+" that it guards", act.ID
			}
			closed[p.Data.Point] = true
			if f.Why != "" {
				out = append(out, f)
			}
		}
	}
	return out
}

// starts are the readings that show the engine running.
var starts = []string{"idle", "load", "supply", "hot restart"}

// firstAct is the visit's first act that a point guards. The engine counts
// once a joint was opened in the visit.
func firstAct(c *state.Car, v past.Visit, readings map[string]schema.ReadingData, act procedures.Act) (schema.Entry, bool) {
	var opened bool
	for _, e := range v.Entries {
		i := slices.IndexFunc(c.Openings, func(o state.Opening) bool { return o.Entry.ID == e.ID })
		opened = opened || i >= 0
		switch act {
		case procedures.ActOpening:
			if i >= 0 {
				return e, true
			}
		case procedures.ActCut:
			if i >= 0 && c.Openings[i].HotOrCut {
				return e, true
			}
		case procedures.ActStart:
			if opened && slices.Contains(starts, readings[e.ID].Test) {
				return e, true
			}
		}
	}
	return schema.Entry{}, false
}

// cutFact is a tank that was drilled, sawn or welded.
type cutFact struct {
	stamp
	Joint       string              `json:"j"`
	Tank        string              `json:"k,omitempty"` // tag of the car's tank
	Gas         *stamp              `json:"g,omitempty"` // last gas reading in the tank before it
	Read        string              `json:"r,omitempty"` // as written
	Oxygen      string              `json:"o,omitempty"`
	Certificate *schema.Certificate `json:"c,omitempty"`
	Paper       *stamp              `json:"p,omitempty"` // the entry that holds the certificate
}

func cutFacts(c *state.Car) []cutFact {
	var out []cutFact
	for _, o := range c.Openings {
		if !o.HotOrCut {
			continue
		}
		f := cutFact{stamp: *stampOf(o.Entry), Joint: o.Joint, Tank: c.Vehicle.Tank}
		for _, r := range c.Readings {
			if r.Data.Test != "gas" || schema.Order(r.Entry, o.Entry) > 0 {
				continue
			}
			if v, ok := r.Value("tank"); ok {
				f.Gas, f.Read, f.Oxygen = stampOf(r.Entry), v.Written().String(), ""
				if x, ok := r.Value("oxygen"); ok {
					f.Oxygen = x.Written().String()
				}
			}
		}
		for _, k := range c.Cautions {
			if k.Data.Certificate != nil && schema.Order(k.Entry, o.Entry) < 0 {
				f.Certificate, f.Paper = k.Data.Certificate, stampOf(k.Entry)
			}
		}
		out = append(out, f)
	}
	return out
}

// editFact is something written into what was signed or frozen already.
type editFact struct {
	stamp
	Kind    string `json:"k"`
	After   *stamp `json:"a"` // the sign-off or the incident
	What    string `json:"w"`
	Changes string `json:"c,omitempty"` // the entry that it takes back
	Visit   string `json:"v"`
}

// free may be written after a sign-off: words, the car leaving, the re-check.
func free(e schema.Entry) bool {
	switch e.Kind {
	case "note", "visit", "evidence", "signoff", "incident":
		return true
	case "holdpoint":
		d, err := schema.Into[schema.HoldPointData](e)
		return err == nil && d.Point == "HP11"
	}
	return false
}

func editFacts(c *state.Car, visits []past.Visit) []editFact {
	var out []editFact
	for _, v := range visits {
		if v.Release == nil {
			continue
		}
		for _, e := range v.Entries {
			if schema.Order(e, v.Release.Entry) > 0 && !free(e) && e.Kind != "correct" {
				out = append(out, editFact{stamp: *stampOf(e), Kind: e.Kind, After: stampOf(v.Release.Entry), What: "recorded after the sign-off of its visit", Visit: v.Number})
			}
		}
	}
	return append(out, takenBack(c, visits)...)
}

// takenBack are corrections of entries that a sign-off had seen, or that an
// incident froze.
func takenBack(c *state.Car, visits []past.Visit) []editFact {
	var out []editFact
	for _, e := range c.Record.Entries {
		d, is := past.As[schema.CorrectData](e)
		if !is || c.TakenBack(e) {
			continue
		}
		target, ok := c.Record.Entry(d.Entry)
		if !ok {
			continue
		}
		v, _ := past.VisitAt(visits, e)
		add := func(after schema.Entry, what string) {
			out = append(out, editFact{stamp: *stampOf(e), Kind: e.Kind, After: stampOf(after), What: what, Changes: d.Entry, Visit: v.Number})
		}
		if s, ok := between(c.Record, "signoff", target, e); ok {
			add(s, string(d.Action)+" of a "+target.Kind+" that was signed off")
		}
		if i, ok := between(c.Record, "incident", target, e); ok {
			add(i, string(d.Action)+" of a "+target.Kind+" from before the incident")
		}
	}
	return out
}

// between finds the first entry of a kind after one entry and before another.
func between(r schema.Record, kind string, from, to schema.Entry) (schema.Entry, bool) {
	for _, e := range r.Entries {
		if e.Kind == kind && schema.Order(from, e) < 0 && schema.Order(e, to) < 0 {
			return e, true
		}
	}
	return schema.Entry{}, false
}

// flowFact is a timed flow and the pump that gave it.
type flowFact struct {
	stamp
	Part     string  `json:"q,omitempty"`
	Fit      string  `json:"f,omitempty"`
	Pumps    int     `json:"n"`
	Visit    string  `json:"v"`
	Flow     float64 `json:"x"` // m3/s
	Pressure float64 `json:"y"` // Pa
	Volts    float64 `json:"z"` // V
}

func flowFacts(c *state.Car, visits []past.Visit, components []past.Component) []flowFact {
	var out []flowFact
	for _, r := range c.Readings {
		if r.Data.Test != "flow" {
			continue
		}
		flow, ok := past.FlowOf(r.Data)
		p, ok2 := valueOf[quantity.Gauge](r, "pressure")
		u, ok3 := valueOf[quantity.Voltage](r, "volts")
		if !ok || !ok2 || !ok3 {
			continue
		}
		v, _ := past.VisitAt(visits, r.Entry)
		f := flowFact{stamp: *stampOf(r.Entry), Visit: v.Number, Flow: float64(flow), Pressure: float64(p), Volts: float64(u)}
		for _, k := range components {
			there := schema.Order(k.In, r.Entry) < 0 && (k.Out == nil || schema.Order(*k.Out, r.Entry) > 0)
			if there && (k.Data.Position == "pump" || strings.HasPrefix(k.Data.Position, "pump ")) {
				f.Pumps++
			}
			if there && k.Data.Position == "pump" {
				f.Part, f.Fit = k.Data.Part, k.In.ID
			}
		}
		out = append(out, f)
	}
	return out
}

func valueOf[Q quantity.Quantity](r state.Reading, name string) (Q, bool) {
	v, ok := r.Value(name)
	if !ok {
		return 0, false
	}
	q, err := quantity.Of[Q](v.Written())
	return q, err == nil
}

// partFact is a part or lot and what came in of it.
type partFact struct {
	Kind     schema.PartKind `json:"k,omitempty"`
	Name     string          `json:"n,omitempty"`
	Mark     string          `json:"m,omitempty"`
	Lot      string          `json:"l,omitempty"`
	Serial   string          `json:"s,omitempty"`
	Ethanol  schema.Answer   `json:"e,omitempty"`
	DateCode string          `json:"d,omitempty"`
	Receipts []receiptFact   `json:"r,omitempty"`
	OnHold   *stamp          `json:"h,omitempty"` // the quarantine that stands
	WhyHeld  string          `json:"w,omitempty"`
	Last     *stamp          `json:"p,omitempty"` // the entry that last described it
}

type receiptFact struct {
	stamp
	Date     string `json:"d"`
	Quantity int    `json:"q"`
	Supplier string `json:"s,omitempty"`
	State    string `json:"a,omitempty"`
}

func gatherPart(r schema.Record) partFact {
	var f partFact
	for _, e := range standing(r) {
		if d, is := past.As[schema.PartData](e); is {
			f.Kind, f.Name, f.Mark, f.Lot, f.Serial, f.Ethanol, f.Last = d.Part, d.Name, d.Mark, d.Lot, d.Serial, d.Ethanol, stampOf(e)
			if d.Hose != nil {
				f.DateCode = d.Hose.DateCode
			}
		}
		if d, is := past.As[schema.ReceiptData](e); is {
			f.Receipts = append(f.Receipts, receiptFact{*stampOf(e), d.Date, d.Quantity, d.Supplier, d.State})
		}
		if d, is := past.As[schema.QuarantineData](e); is {
			f.OnHold, f.WhyHeld = nil, ""
			if d.Action == "hold" {
				f.OnHold, f.WhyHeld = stampOf(e), d.Why
			}
		}
	}
	return f
}

// standing are the entries of a part or gauge that were not taken back.
func standing(r schema.Record) []schema.Entry {
	c := state.Fold(state.Told(schema.Record{Kind: r.Kind, ID: r.ID, Entries: r.Entries}), schema.Shop{}, time.Time{})
	return slices.DeleteFunc(r.With().Entries, c.TakenBack)
}
