package desk_test

import (
	"testing"

	"feedproof/cmd/internal/desktest"
)

// The made-up shop has one car in it, whose pressure gauge is due in ten months:
// nothing is open that rests on a record, and no instrument needs anything.
func TestMorning(t *testing.T) {
	d := desktest.At(t, desktest.Shop(t), "lead-1")
	cars, err := d.Standings()
	if err != nil || len(cars.Cars) != 1 || cars.Cars[0].Vehicle != "kestrel" || len(cars.Open) != 0 {
		t.Fatalf("%+v %v: want kestrel, and nothing open", cars, err)
	}
	m, err := d.Morning(cars)
	if err != nil || m.At != "2026-03-02T09:00:00Z" || len(m.Cars) != 1 || len(m.Tools) != 0 {
		t.Errorf("%+v %v", m, err)
	}
}
