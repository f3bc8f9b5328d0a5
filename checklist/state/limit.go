package state

import (
	"strings"

	"feedproof/schema"
)

// Limit is the limit that the shop last set for itself under a rule's id.
func (c *Car) Limit(rule string) (schema.LimitData, bool) {
	var found schema.LimitData
	ok := false
	for _, e := range Standing(c.Shop.Record) {
		if e.Kind == found.EntryKind() {
			with(e, func(d schema.LimitData) {
				if strings.EqualFold(d.Limit, rule) {
					found, ok = d, true
				}
			})
		}
	}
	return found, ok
}
