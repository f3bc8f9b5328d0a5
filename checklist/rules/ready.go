package rules

import (
	"math"

	"feedproof/checklist/car"
	"feedproof/schema"
)

// ReadyToOpen judges whether a joint could be opened at this moment: what K01
// and K05 would say of an opening now.
func ReadyToOpen(c *car.Car) []schema.Finding {
	now := car.Opening{Entry: thisMoment(c), Joint: "the next joint", Pressured: true}
	var found []schema.Finding
	for _, before := range []func(*car.Car, car.Opening) (schema.Finding, bool){gasBefore, zeroBefore} {
		f, proven := before(c, now)
		if !proven {
			f.Severity = schema.Stop
		}
		if f.Severity > schema.OK {
			f.Entries = nil
			found = append(found, f)
		}
	}
	return found
}

// thisMoment is an entry after all others.
func thisMoment(c *car.Car) schema.Entry {
	return schema.Entry{ID: "now", At: c.Now, Counter: math.MaxInt64}
}
