package rules

import (
	"math"

	"feedproof/checklist/state"
	"feedproof/schema"
)

// ReadyToOpen judges whether a joint could be opened at this moment: what K01
// and K05 would say of an opening now.
func ReadyToOpen(c *state.Car) []schema.Finding {
	now := state.Opening{Entry: thisMoment(c), Joint: "the next joint", Pressured: true}
	var found []schema.Finding
	for _, before := range []func(*state.Car, state.Opening) (schema.Finding, bool){gasBefore, zeroBefore} {
		f, proven := before(c, now)
		if !proven {
			f.Severity = schema.Stop
		}
		if f.Severity > schema.OK {
			f.Entries = nil
			rule, _ := Find(f.Rule)
			found = append(found, rule.worded([]schema.Finding{f})...)
		}
	}
	return found
}

// thisMoment is an entry after all others.
func thisMoment(c *state.Car) schema.Entry {
	return schema.Entry{ID: "now", At: c.Now, Counter: math.MaxInt64}
}
