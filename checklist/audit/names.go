package audit

import (
	"fmt"
	"strconv"
	"strings"

	"feedproof/checklist/past"
	"feedproof/checklist/state"
	"feedproof/schema"
)

// Name is what a car is called, and whether it is in the shop.
type Name struct {
	ID, Name, Plate, VIN string
	Here                 bool   // a visit is open, as committed
	What                 string // colour and body
	Entries              int    // in its record
}

// Names lists every car of the shop, by id.
func Names(src Source) ([]Name, error) {
	var all []Name
	err := src.Facts(schema.VehicleRecord, tableNames, func(id string, facts []byte) error {
		f := strings.Split(string(facts), "\x1f")
		if len(f) != 6 {
			return fmt.Errorf("%s: its name cannot be read", id)
		}
		entries, err := strconv.Atoi(f[5])
		all = append(all, Name{ID: id, Name: f[0], Plate: f[1], VIN: f[2], Here: f[3] != "", What: f[4], Entries: entries})
		return err
	})
	return all, err
}

// nameFact is plain text and no JSON: every command that names a car reads it.
func nameFact(c *state.Car, visits []past.Visit) []byte {
	here := ""
	if len(visits) > 0 && visits[len(visits)-1].Close == nil {
		here = "here"
	}
	clean := func(s string) string { return strings.ReplaceAll(s, "\x1f", " ") }
	return []byte(strings.Join([]string{clean(c.Vehicle.Name), clean(c.Vehicle.Plate), clean(c.Vehicle.VIN), here, clean(c.Vehicle.Description), strconv.Itoa(len(c.Record.Entries))}, "\x1f"))
}
