package audit

import (
	"fmt"
	"strconv"
	"strings"
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
	err := tableNames.read(src, func(id string, facts []byte) error {
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

var tableNames = textTable("names", nameFact)

// nameFact is plain text and no JSON: every command that names a car reads it.
func nameFact(s subject) []byte {
	here := ""
	if len(s.visits) > 0 && s.visits[len(s.visits)-1].Close == nil {
		here = "here"
	}
	clean := func(s string) string { return strings.ReplaceAll(s, "\x1f", " ") }
	return []byte(strings.Join([]string{clean(s.car.Vehicle.Name), clean(s.car.Vehicle.Plate), clean(s.car.Vehicle.VIN), here, clean(s.car.Vehicle.Description), strconv.Itoa(len(s.car.Written()))}, "\x1f"))
}
