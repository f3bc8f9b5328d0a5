package rules

import (
	"slices"

	"feedproof/checklist/car"
	"feedproof/schema"
)

// lastBefore finds the last reading of a test before an entry, in order.
func lastBefore(c *car.Car, test string, e schema.Entry) (car.Reading, bool) {
	all := c.All(test)
	for i := len(all) - 1; i >= 0; i-- {
		if schema.Order(all[i].Entry, e) < 0 {
			return all[i], true
		}
	}
	return car.Reading{}, false
}

// closedBetween reports that the system was closed and leak tested between two
// entries: what was read before it says nothing about a new opening.
func closedBetween(c *car.Car, from, to schema.Entry) bool {
	return slices.ContainsFunc(c.All("leak"), func(r car.Reading) bool {
		return schema.Order(r.Entry, from) > 0 && schema.Order(r.Entry, to) < 0
	})
}

// pumpRan lists the tests that put pressure back into the lines.
var pumpRan = []string{"base", "idle", "load", "leak", "leak-down", "supply", "prime", "flow", "slope", "relief"}

// energisedBetween reports that a reading with the pump running lies between
// two entries.
func energisedBetween(c *car.Car, from, to schema.Entry) bool {
	return slices.ContainsFunc(c.Readings, func(r car.Reading) bool {
		return slices.Contains(pumpRan, r.Data.Test) && schema.Order(r.Entry, from) > 0 && schema.Order(r.Entry, to) < 0
	})
}

// openingSeverity is how heavy an unproven opening is: STOP while the joint is
// open, HOLD once it is closed and tested, FLAG once a later opening of this
// visit was proven, for the act itself can no longer be shown.
func openingSeverity(c *car.Car, openings []car.Opening, i int, proven func(car.Opening) bool) schema.Severity {
	if slices.ContainsFunc(openings[i+1:], proven) {
		return schema.Flag
	}
	leak, tested := c.Last("leak")
	if tested && schema.Order(leak.Entry, openings[i].Entry) > 0 {
		return schema.Hold
	}
	return schema.Stop
}
