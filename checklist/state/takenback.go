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

// Corrections are those of a record whose entries are in order, by the entry
// that each took back. One that was itself taken back has no effect.
func Corrections(r schema.Record) map[string]schema.Entry {
	dropped := map[string]schema.Entry{}
	for _, e := range slices.Backward(r.Entries) {
		if _, gone := dropped[e.ID]; gone || e.Kind != (schema.CorrectData{}).EntryKind() {
			continue
		}
		if data, err := schema.Into[schema.CorrectData](e); err == nil && data.Entry != e.ID {
			dropped[data.Entry] = e
		}
	}
	return dropped
}

// Standing are the entries of the car's record, in order, that nobody took back.
func (c *Car) Standing() []schema.Entry {
	if len(c.dropped) == 0 {
		return c.Record.Entries
	}
	return slices.DeleteFunc(slices.Clone(c.Record.Entries), c.TakenBack)
}

// Standing are the entries of a record, in order, that nobody took back.
func Standing(r schema.Record) []schema.Entry {
	r = r.With()
	dropped := Corrections(r)
	return slices.DeleteFunc(slices.Clone(r.Entries), func(e schema.Entry) bool { _, gone := dropped[e.ID]; return gone })
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
