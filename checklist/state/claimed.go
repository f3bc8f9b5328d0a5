package state

import (
	"cmp"
	"slices"

	"feedproof/schema"
)

// Claimed is the car as if everything had been written when it is said to have
// happened. What holds only there is evidence of the second class: a time is a
// claim, and only what the writer of an act had seen is known to be before it.
func (c *Car) Claimed() *Car {
	if c.claimed == nil {
		r := c.Record
		r.Entries = slices.Clone(r.Entries)
		slices.SortStableFunc(r.Entries, func(a, b schema.Entry) int { return cmp.Compare(a.At.UnixNano(), b.At.UnixNano()) })
		for i := range r.Entries {
			r.Entries[i].Rank = i + 1
		}
		c.claimed = Fold(History{Record: r, Sight: c.Sight, dropped: c.dropped}, c.Shop, c.Now)
	}
	return c.claimed
}
