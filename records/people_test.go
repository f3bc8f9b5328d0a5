package records

import (
	"context"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"feedproof/records/signature"
	"feedproof/schema"

	"github.com/google/go-cmp/cmp"
)

func TestWhoMayPut(t *testing.T) {
	w := newShop(t)
	w.keys["new-1"] = newKey(t)
	hire := person("new-1", schema.Technician)
	hire.Key = signature.KeyLine(w.keys["new-1"].PublicKey())
	thief := hire
	thief.Key = signature.KeyLine(w.keys["tech-1"].PublicKey())
	leadKey := schema.KeyData{Person: "lead-1", Key: signature.KeyLine(w.keys["lead-1"].PublicKey()), Action: "revoke"}
	techKey := schema.KeyData{Person: "tech-1", Key: signature.KeyLine(w.keys["tech-1"].PublicKey()), Action: "revoke"}
	for _, try := range []struct {
		name string
		by   string
		data schema.Data
		says string // empty for success
	}{
		{"a technician hires", "tech-1", hire, "may not write a person"},
		{"an auditor notes", "audit-1", schema.NoteData{Text: "seen"}, ""},
		{"an auditor describes a bay", "audit-1", schema.BayData{Bay: "1"}, "may not write a bay"},
		{"a technician describes a bay", "tech-1", schema.BayData{Bay: "1"}, ""},
		{"a technician sets a limit", "tech-1", schema.LimitData{Limit: "L07", Value: "1", Why: "x"}, "may not write a limit"},
		{"nobody writes", "new-1", schema.NoteData{Text: "x"}, "nobody's in this shop's roster"},
		{"the lead gives away another's key", "lead-1", thief, "belongs to tech-1"},
		{"the last lead goes", "lead-1", leadKey, "no lead left"},
		{"the lead hires", "lead-1", hire, ""},
		{"the new one writes", "new-1", schema.NoteData{Text: "x"}, ""},
		{"a key is revoked", "lead-1", techKey, ""},
		{"a revoked key writes", "tech-1", schema.NoteData{Text: "x"}, "was revoked"},
	} {
		before, err := w.shop.head()
		must(t, err)
		err = w.put(try.by, schema.ShopRecord, "", try.data)
		after, _ := w.shop.head()
		switch {
		case try.says == "" && err != nil:
			t.Errorf("%s: %v", try.name, err)
		case try.says != "" && (err == nil || !strings.Contains(err.Error(), try.says)):
			t.Errorf("%s: says %v, want %q", try.name, err, try.says)
		case try.says != "" && before != after:
			t.Errorf("%s: refused, and the branch moved", try.name)
		}
	}
	if _, err := w.shop.Verify(context.Background(), nil); err != nil {
		t.Error(err)
	}
}

func TestNobodySignsWithAnothersKey(t *testing.T) {
	w := newShop(t)
	e := w.entry("lead-1", schema.ShopRecord, "", schema.NoteData{Text: "x"})
	_, err := w.shop.Put(context.Background(), schema.ShopRecord, "", "lead-1", w.keys["tech-1"], e)
	var role *RoleError
	if !errors.As(err, &role) || role.Person != "lead-1" {
		t.Errorf("put says %v", err)
	}
}

func TestIDsThatDifferInCaseAlone(t *testing.T) {
	w := newShop(t)
	w.vehicle("Car-1")
	err := w.put("tech-1", schema.VehicleRecord, "cAR-1", schema.VehicleData{
		Name: "x", Description: "invented", RoadUse: schema.Yes, EmissionControlled: schema.No, TankEverFuelled: schema.Yes,
	})
	if err == nil || !strings.Contains(err.Error(), "differs from Car-1 in case alone") {
		t.Errorf("put says %v", err)
	}
}

func TestInvalidEntryIsRefused(t *testing.T) {
	w := newShop(t)
	err := w.put("tech-1", schema.VehicleRecord, "car-1", schema.LimitData{Limit: "L07", Value: "1", Why: "x"})
	if err == nil {
		t.Error("a vehicle record took a limit by a technician")
	}
	err = w.put("lead-1", schema.VehicleRecord, "car-1", schema.LimitData{Limit: "L07", Value: "1", Why: "x"})
	var invalid *schema.InvalidError
	if !errors.As(err, &invalid) {
		t.Errorf("put says %v, want the schema's refusal", err)
	}
}

func TestShopIsFoundFromBelow(t *testing.T) {
	w := newShop(t)
	below := filepath.Join(w.dir, "a", "b")
	must(t, os.MkdirAll(below, 0o755))
	found, err := Find(below)
	must(t, err)
	if found != w.dir {
		t.Errorf("found %s, want %s", found, w.dir)
	}
	var none *NotShopError
	if _, err := Find(t.TempDir()); !errors.As(err, &none) {
		t.Errorf("find outside a shop says %v", err)
	}
	if _, err := Open(t.TempDir()); !errors.As(err, &none) {
		t.Errorf("open outside a shop says %v", err)
	}
	if _, err := Create(w.dir, CreateOptions{ID: "x", Lead: person("lead-1", schema.Lead), Key: w.keys["lead-1"], Device: Device{Name: "bay-1"}}); err == nil {
		t.Error("a shop was made over another")
	}
	if _, err := w.shop.Verify(context.Background(), nil); err != nil {
		t.Error(err)
	}
}

func TestDeviceIsKept(t *testing.T) {
	w := newShop(t)
	pinned := w.shop.Device().Pinned
	must(t, w.shop.SetDevice(Device{Name: "bay-2", Bay: "2", Who: "tech-1"}))
	again, err := Open(w.dir)
	must(t, err)
	if diff := cmp.Diff(Device{Name: "bay-2", Bay: "2", Who: "tech-1", Pinned: pinned}, again.Device()); diff != "" {
		t.Error(diff)
	}
	if pinned != signature.Fingerprint(w.keys["lead-1"].PublicKey()) {
		t.Errorf("pinned is %s", pinned)
	}
}

func TestHistoryOfOneCar(t *testing.T) {
	w := newShop(t)
	w.vehicle("car-1")
	w.vehicle("car-2")
	w.note("car-1", "first")
	w.note("car-1", "second")
	_, err := w.commit("car-1")
	must(t, err)
	w.note("car-2", "other")
	_, err = w.commit("car-2")
	must(t, err)
	w.note("car-1", "third")
	_, err = w.commitBy("lead-1", "car-1")
	must(t, err)
	var told [][2]int
	all, err := w.shop.History(t.Context(), schema.VehicleRecord, "car-1", func(done, total int) { told = append(told, [2]int{done, total}) })
	must(t, err)
	if n := len(told); n < 6 || told[n-2] != [2]int{n - 1, 0} || told[n-1] != [2]int{n - 1, n - 1} {
		t.Errorf("it counted %v", told)
	}
	var got [][]string
	for _, c := range all {
		got = append(got, append([]string{c.By, strings.TrimSpace(c.Message)}, notes(t, c.Entries)...))
	}
	want := [][]string{
		{"tech-1", "vehicle car-1: 1 vehicle"},
		{"tech-1", "vehicle car-1: 2 note", "first", "second"},
		{"lead-1", "vehicle car-1: 1 note", "third"},
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
	own, err := w.shop.History(t.Context(), schema.ShopRecord, "", nil)
	if err != nil || len(own) != 3 {
		t.Errorf("the shop's own history has %d changes, %v", len(own), err)
	}
	var none *NotFoundError
	if _, err := w.shop.History(t.Context(), schema.VehicleRecord, "car-9", nil); !errors.As(err, &none) {
		t.Errorf("history of a car that is not there: %v", err)
	}
	over, end := context.WithCancel(t.Context())
	end()
	if _, err := w.shop.History(over, schema.VehicleRecord, "car-1", nil); !errors.Is(err, context.Canceled) {
		t.Errorf("broken off: %v", err)
	}
}
