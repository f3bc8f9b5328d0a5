package records

import (
	"context"
	"strings"
	"testing"

	"feedproof/records/signature"
	"feedproof/schema"
)

// hologram is an entry kind of a later program.
type hologram struct {
	Depth string `json:"depth"`
}

func (hologram) EntryKind() string { return "hologram" }

// moodyPerson is a person as a later program writes one.
type moodyPerson struct {
	schema.PersonData
	Mood string `json:"mood"`
}

// A bay that is ahead and one that is behind exchange in both directions: what the one behind does not know it keeps byte for byte, names, and
// writes on; nothing is set aside on either side.
func TestABayThatIsAheadAndOneThatIsBehind(t *testing.T) {
	behind, ahead, stick := bays(t)
	put := func(kind schema.RecordKind, id, by string, data schema.Data) schema.Entry {
		e := ahead.forged(kind, id, Fact{By: by, Key: ahead.keys[by], Entered: moment, Data: data}, func(o *schema.Origin) { o.Device = "bay-2" })
		_, err := ahead.shop.Put(context.Background(), kind, id, by, ahead.keys[by], e)
		must(t, err)
		return e
	}
	strange := put(schema.VehicleRecord, "car-1", "tech-1", hologram{"3"})
	unit := put(schema.VehicleRecord, "car-1", "tech-1", schema.ReadingData{Test: "base", Values: []schema.Value{{Name: "rail", Value: "3", Unit: "torr"}}})
	ahead.keys["new-1"] = newKey(t)
	p := person("new-1", schema.Technician)
	p.Key = signature.KeyLine(ahead.keys["new-1"].PublicKey())
	put(schema.ShopRecord, "", "lead-1", moodyPerson{p, "good"})
	must(t, ahead.put("new-1", schema.VehicleRecord, "car-1", schema.NoteData{Text: "by the new one"}))
	ahead.synced(stick)

	if r := behind.synced(stick); len(r.Aside) > 0 || r.Came.Entries != 4 {
		t.Fatalf("sync says %+v", r)
	}
	r, err := behind.shop.Record(schema.VehicleRecord, "car-1")
	must(t, err)
	if r.Newer[strange.ID] != `kind "hologram"` || r.Newer[unit.ID] != `unit "torr"` || len(r.Newer) != 2 || len(r.Doubts) > 0 {
		t.Errorf("newer are %v, doubts %v", r.Newer, r.Doubts)
	}
	for _, e := range []schema.Entry{strange, unit} {
		if got, _ := r.Entry(e.ID); string(got.Raw()) != string(e.Raw()) || got.By != "tech-1" || !got.At.Equal(moment) {
			t.Errorf("entry %s became %s", e.Raw(), got.Raw())
		}
	}
	behind.add("car-1", "seen by the one behind")
	ahead.note("car-1", "and a draft of the one ahead")
	must(t, ahead.shop.Append("car-1", ahead.forged(schema.VehicleRecord, "car-1", Fact{By: "tech-1", Key: ahead.keys["tech-1"], Entered: moment, Data: hologram{"4"}}, func(o *schema.Origin) { o.Device = "bay-2" })))
	for range 2 {
		for _, w := range []*world{behind, ahead} {
			if r := w.synced(stick); len(r.Aside) > 0 {
				t.Errorf("sync says %+v", r.Aside)
			}
		}
	}
	if behind.tree() != ahead.tree() {
		t.Error("the bays have come apart")
	}
	if drafts, err := behind.shop.OtherDrafts("car-1"); err != nil || len(drafts) != 1 || len(drafts[0].Entries) != 2 {
		t.Errorf("drafts are %+v, %v", drafts, err)
	}
	for _, w := range []*world{behind, ahead} {
		_, err := w.shop.Verify(context.Background(), nil)
		must(t, err)
	}
	fresh := behind.doubts("car-1")
	if len(fresh) > 0 || strings.Join(behind.committed("car-1"), ",") != strings.Join(ahead.committed("car-1"), ",") {
		t.Errorf("doubts %v", fresh)
	}
}
