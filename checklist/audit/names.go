package audit

import (
	"fmt"
	"strings"

	"feedproof/checklist/car"
	"feedproof/checklist/past"
	"feedproof/schema"
)

// Name is what a car is called, and whether it is in the shop.
type Name struct {
	ID, Name, Plate, VIN string
	Here                 bool // a visit is open, as committed
}

// Names lists every car of the shop, by id.
func Names(src Source) ([]Name, error) {
	var all []Name
	err := src.Facts(schema.VehicleRecord, tableNames, func(id string, facts []byte) error {
		f := strings.Split(string(facts), "\x1f")
		if len(f) != 4 {
			return fmt.Errorf("%s: its name cannot be read", id)
		}
		all = append(all, Name{ID: id, Name: f[0], Plate: f[1], VIN: f[2], Here: f[3] != ""})
		return nil
	})
	return all, err
}

// nameFact is plain text and no JSON: every command that names a car reads it.
func nameFact(c *car.Car, visits []past.Visit) []byte {
	here := ""
	if len(visits) > 0 && visits[len(visits)-1].Close == nil {
		here = "here"
	}
	clean := func(s string) string { return strings.ReplaceAll(s, "\x1f", " ") }
	return []byte(strings.Join([]string{clean(c.Vehicle.Name), clean(c.Vehicle.Plate), clean(c.Vehicle.VIN), here}, "\x1f"))
}
