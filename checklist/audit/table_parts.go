package audit

import (
	"feedproof/checklist/past"
	"feedproof/checklist/state"
	"feedproof/schema"
)

var tableParts = rowTable(schema.PartRecord, "parts", func(s subject) []partFact { return []partFact{gatherPart(s.Record)} })

// partFact is a part or lot and what came in of it.
type partFact struct {
	Kind     schema.PartKind   `json:"k,omitempty"`
	Name     string            `json:"n,omitempty"`
	Mark     string            `json:"m,omitempty"`
	Lot      string            `json:"l,omitempty"`
	Serial   string            `json:"s,omitempty"`
	Ethanol  schema.Answer     `json:"e,omitempty"`
	DateCode string            `json:"d,omitempty"`
	Receipts []receiptFact     `json:"r,omitempty"`
	OnHold   *stamp            `json:"h,omitempty"` // the quarantine that stands
	WhyHeld  string            `json:"w,omitempty"`
	Told     map[string]*stamp `json:"t,omitempty"` // owners who were told of it, by car
	Last     *stamp            `json:"p,omitempty"` // the entry that last described it
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
	for _, e := range state.Standing(r) {
		if d, is := past.As[schema.PartData](e); is {
			f.Kind, f.Name, f.Mark, f.Lot, f.Serial, f.Ethanol, f.Last = d.Part, d.Name, d.Mark, d.Lot, d.Serial, d.Ethanol, stampOf(e)
			if d.Hose != nil {
				f.DateCode = d.Hose.DateCode
			}
		}
		if d, is := past.As[schema.ReceiptData](e); is {
			f.Receipts = append(f.Receipts, receiptFact{*stampOf(e), d.Date, d.Quantity, d.Supplier, d.State})
		}
	}
	if q, held := state.Quarantined(r); held {
		f.OnHold, f.WhyHeld, f.Told = stampOf(q.Entry), q.Why, map[string]*stamp{}
		for car, e := range q.Told {
			f.Told[car] = stampOf(e)
		}
	}
	return f
}
