package car

import "feedproof/schema"

// TakenBack reports that a later correction took an entry back. The folded
// lists leave such entries out; those who walk the record themselves ask.
func (c *Car) TakenBack(e schema.Entry) bool { return c.dropped[e.ID] }
