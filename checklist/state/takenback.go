package state

import (
	"slices"

	"feedproof/schema"
)

// TakenBack reports that a later correction took an entry back. The folded
// lists leave such entries out; those who walk the record themselves ask.
func (c *Car) TakenBack(e schema.Entry) bool {
	_, gone := c.dropped[e.ID]
	return gone
}

// Corrections are those of a record that count, by the entry that each took
// back.
func Corrections(r schema.Record) map[string]schema.Entry {
	return corrections(r.Entries, schema.NewSight(r.Entries))
}

// Standing are the entries of the car's record, in order, that nobody took back.
func (c *Car) Standing() []schema.Entry {
	if len(c.dropped) == 0 {
		return c.Record.Entries
	}
	return slices.DeleteFunc(slices.Clone(c.Record.Entries), c.TakenBack)
}

// Standing are the entries of a record, as it lists them, that nobody took back.
func Standing(r schema.Record) []schema.Entry {
	if !slices.ContainsFunc(r.Entries, func(e schema.Entry) bool { return target(e) != "" }) {
		return r.With().Entries
	}
	told := Told(r)
	return slices.DeleteFunc(told.Record.Entries, func(e schema.Entry) bool { _, gone := told.dropped[e.ID]; return gone })
}

// First is the entry that an entry stands in for, when a correction named it as
// the right one, else the entry itself: a slip mended afterwards does not make
// the fact a later one.
func (c *Car) First(e schema.Entry) schema.Entry {
	for range len(c.instead) {
		wrong, ok := c.instead[e.ID]
		if !ok {
			break
		}
		e = wrong
	}
	return e
}
