// Package desktest makes a small shop for tests: a lead, a technician, a
// pressure gauge, a pump and the car kestrel, whose visit is open.
//
// Start with [Shop] and sit down with [At]. Everything is made up. What is
// deliberately absent: a car that is ready for anything.
package desktest

import (
	"context"
	"os"
	"path/filepath"
	"testing"
	"time"

	"feedproof/cmd/internal/desk"
	"feedproof/records"
	"feedproof/records/signature"
	"feedproof/schema"
	"feedproof/schema/quantity"
)

// Now is the moment at which every shop stands.
var Now = time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC)

// Shop makes the shop in a new folder.
func Shop(t testing.TB) (dir string) {
	t.Helper()
	dir = t.TempDir()
	must(t, os.MkdirAll(filepath.Join(dir, "keys"), 0o700))
	key, err := signature.WriteKey(filepath.Join(dir, "keys", "lead-1"), "lead-1", nil)
	must(t, err)
	_, err = records.Create(dir, records.CreateOptions{
		ID: schema.NewID(Now), Key: key, Now: func() time.Time { return Now },
		Lead:   schema.PersonData{Person: "lead-1", Name: "Robin Vale", Initials: "RV", Roles: []schema.Role{schema.Lead}},
		Device: records.Device{Name: "bench-1", Bay: "2"},
	})
	must(t, err)
	lead := At(t, dir, "lead-1")
	furnish(t, lead)
	car := schema.NewID(Now)
	put(t, lead, schema.VehicleRecord, car, schema.VehicleData{Name: "kestrel", Plate: "KT 42", VIN: "ZZ9FP2KT0N0004711", Description: "silver hatchback", RoadUse: schema.Yes, EmissionControlled: schema.NotKnown, TankEverFuelled: schema.Yes})
	c, err := lead.Car("kestrel")
	must(t, err)
	_, err = lead.Record(c, Now, schema.VisitData{Action: schema.OpenVisit, Visit: "1", Kinds: []schema.JobKind{"a"}, Bay: "2"})
	must(t, err)
	c, err = lead.Car("kestrel")
	must(t, err)
	_, err = lead.Commit(context.Background(), c, true, "")
	must(t, err)
	return dir
}

// furnish adds who and what a shop needs.
func furnish(t testing.TB, lead *desk.Desk) {
	t.Helper()
	own, err := lead.Own()
	must(t, err)
	key, err := signature.WriteKey(lead.KeyPath("tech-1"), "tech-1", nil)
	must(t, err)
	put(t, lead, schema.ShopRecord, own.ID, schema.PersonData{Person: "tech-1", Name: "Sam Reed", Initials: "SR", Roles: []schema.Role{schema.FuelTechnician}, Key: signature.KeyLine(key.PublicKey())})
	put(t, lead, schema.GaugeRecord, "P1", schema.GaugeData{
		Name: "rail gauge", Measures: schema.MeasuresPressure, RangeLow: written("0", "bar"), RangeHigh: written("10", "bar"),
		Class: schema.Write[quantity.Fraction](written("1", "%")), Resolution: written("0.05", "bar"),
	}, schema.CalibrationData{Date: "2026-01-10", Due: "2027-01-10"})
	put(t, lead, schema.PartRecord, "PUMP-A", schema.PartData{Part: schema.PartPump, Name: "in-tank pump"}, schema.ReceiptData{Quantity: 2, Date: "2026-02-01"})
}

// At is somebody at the shop.
func At(t testing.TB, dir, who string) *desk.Desk {
	t.Helper()
	d, err := desk.Open(dir, desk.Options{Now: func() time.Time { return Now }, As: who})
	must(t, err)
	return d
}

func put(t testing.TB, d *desk.Desk, kind schema.RecordKind, id string, data ...schema.Data) {
	t.Helper()
	_, err := d.Put(context.Background(), kind, id, Now, data...)
	must(t, err)
}

func written(value, unit string) quantity.Written { return quantity.Written{Value: value, Unit: unit} }

func must(t testing.TB, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}
