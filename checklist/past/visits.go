// Package past tells a car's story through the years: its visits, what was
// fitted when, a quantity's readings, what changed between two visits, and
// what was known at a moment.
//
// Start with [Visits]. All of it is computed from the folded record; entries
// that were taken back play no part, and nothing here is judged: what was
// found on a day stands in the record as it was shown. What is deliberately
// absent: the rules.
package past

import (
	"slices"

	"feedproof/checklist/state"
	"feedproof/schema"
)

// Visit is one stay of the car and what was written in it.
type Visit struct {
	Number  string
	Open    schema.Entry
	Opening schema.VisitData
	Close   *schema.Entry // nil while the car is here
	Closing schema.VisitData
	Entries []schema.Entry // from the opening up to the next visit's, in order; none that was taken back
	Release *SignOff       // the last one
}

// SignOff is a sign-off and what was signed.
type SignOff struct {
	Entry     schema.Entry
	Statement schema.Statement
}

// Visits are the stays of the car, in order. What was written before the
// first visit belongs to none.
func Visits(c *state.Car) []Visit {
	signed := map[string]schema.Statement{}
	for _, s := range c.SignOffs {
		signed[s.Entry.ID] = s.Data.Statement
	}
	var all []Visit
	begin := 0
	standing := c.Standing()
	for i, e := range standing {
		if d, is := As[schema.VisitData](e); is {
			if d.Action == schema.OpenVisit {
				all = append(all, Visit{Number: d.Visit, Open: e, Opening: d})
				begin = i
			} else {
				closeVisit(all, e, d)
			}
		}
		if len(all) == 0 {
			continue
		}
		last := &all[len(all)-1]
		last.Entries = standing[begin : i+1 : i+1]
		if s, is := signed[e.ID]; is {
			last.Release = &SignOff{e, s}
		}
	}
	return all
}

func closeVisit(all []Visit, e schema.Entry, d schema.VisitData) {
	for i := range all {
		if all[i].Number == d.Visit {
			all[i].Close, all[i].Closing = &e, d
		}
	}
}

// Of lists the visit's entries of a kind with their data.
func Of[T schema.Data](v Visit) []Fact[T] {
	var out []Fact[T]
	for _, e := range v.Entries {
		if d, is := As[T](e); is {
			out = append(out, Fact[T]{e, d})
		}
	}
	return out
}

// As is the entry's data when it is of that kind.
func As[T schema.Data](e schema.Entry) (T, bool) {
	var data T
	if e.Kind != data.EntryKind() {
		return data, false
	}
	data, err := schema.Into[T](e)
	return data, err == nil
}

// Fact is an entry with its data.
type Fact[T schema.Data] struct {
	Entry schema.Entry
	Data  T
}

// Workers lists who did work on the car in the visit up to an entry, as the
// rule of one's own work counts them.
func (v Visit) Workers(before schema.Entry) []string {
	var out []string
	for _, e := range v.Entries {
		if state.IsWork(e) && schema.Order(e, before) < 0 && !slices.Contains(out, e.By) {
			out = append(out, e.By)
		}
	}
	return out
}

// VisitAt finds the visit in which an entry was written.
func VisitAt(visits []Visit, e schema.Entry) (Visit, bool) {
	v := visitOf(visits, e)
	return *v, v != noVisit
}

var noVisit = &Visit{}

// visitOf is noVisit for what was written before the first.
func visitOf(visits []Visit, e schema.Entry) *Visit {
	for i := range slices.Backward(visits) {
		if schema.Order(visits[i].Open, e) <= 0 {
			return &visits[i]
		}
	}
	return noVisit
}
