package records

import (
	"encoding/json"
	"fmt"
	"testing"

	"feedproof/records/signature"
	"feedproof/schema"
)

// Whoever fills a record leaves room for a lead, and one entry less is still everybody's.
func TestAFullRecordIsALeads(t *testing.T) {
	own := schema.NewRecord(schema.ShopRecord, "shop")
	for i, p := range []schema.PersonData{person("lead-1", schema.Lead), person("tech-1", schema.Technician)} {
		p.Key = signature.KeyLine(newKey(t).PublicKey())
		data, err := json.Marshal(p)
		must(t, err)
		own.Entries = append(own.Entries, schema.Entry{ID: fmt.Sprint("e", i), Kind: p.EntryKind(), By: "lead-1", Data: data})
	}
	roster := signature.NewRoster(own)
	fresh := []schema.Entry{{ID: "x"}}
	for _, c := range []struct {
		entries int
		by      string
		refused bool
	}{
		{190_000, "tech-1", false}, {190_001, "tech-1", true}, {190_001, "lead-1", false}, {200_000, "tech-1", true}, {200_000, "lead-1", false}, {190_001, "stranger-1", true},
	} {
		r := schema.NewRecord(schema.VehicleRecord, "car-1")
		r.Entries = make([]schema.Entry, c.entries)
		if err := checkRoom(r, fresh, roster, c.by); (err != nil) != c.refused {
			t.Errorf("%d entries by %s: %v", c.entries, c.by, err)
		}
		if err := checkRoom(r, nil, roster, c.by); err != nil {
			t.Errorf("a merge of %d entries by %s: %v", c.entries, c.by, err)
		}
	}
}
