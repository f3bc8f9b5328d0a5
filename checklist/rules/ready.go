package rules

import (
	"feedproof/checklist/car"
	"feedproof/schema"
)

// ReadyToOpen judges whether a joint could be opened at this moment: what K01
// and K05 would say of an opening now.
func ReadyToOpen(c *car.Car) []schema.Finding {
	now := car.Opening{
		Entry: schema.Entry{ID: "now", At: c.Now, Counter: c.Record.MaxCounter() + 1},
		Joint: "the next joint", Pressured: true,
	}
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
