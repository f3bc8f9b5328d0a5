package car

import (
	"strings"

	"feedproof/schema"
)

// Limit is the limit that the shop last set for itself under a rule's id.
func (c *Car) Limit(rule string) (schema.LimitData, bool) {
	var found schema.LimitData
	ok := false
	shop := c.Shop.Record.With()
	dropped := corrected(shop)
	for _, e := range shop.Entries {
		if e.Kind == found.EntryKind() && !dropped[e.ID] {
			with(e, func(d schema.LimitData) {
				if strings.EqualFold(d.Limit, rule) {
					found, ok = d, true
				}
			})
		}
	}
	return found, ok
}
