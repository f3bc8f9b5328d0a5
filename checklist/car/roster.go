package car

import (
	"slices"

	"feedproof/schema"
)

// Person finds the latest roster entry of a person.
func (c *Car) Person(id string) (schema.PersonData, bool) {
	var found schema.PersonData
	ok := false
	for _, e := range c.Shop.Record.Entries {
		if e.Kind == "person" {
			with(e, func(d schema.PersonData) {
				if d.Person == id {
					found, ok = d, true
				}
			})
		}
	}
	return found, ok
}

// IsLead reports that the person may sign off and waive.
func (c *Car) IsLead(id string) bool {
	p, ok := c.Person(id)
	return ok && slices.Contains(p.Roles, schema.Lead)
}
