package state

import (
	"maps"
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

// handsOn are the roles of people who work on cars, and so can check a joint.
var handsOn = []schema.Role{schema.Technician, schema.FuelTechnician, schema.HotWork, schema.Tuner, schema.Lead}

// HandsOn reports that a person works on cars.
func HandsOn(p schema.PersonData) bool {
	return slices.ContainsFunc(p.Roles, func(r schema.Role) bool { return slices.Contains(handsOn, r) })
}

// Others lists the other people of the roster who work on cars, by id. Whose
// key was revoked works here no longer.
func (c *Car) Others(id string) []string {
	latest, gone := map[string]schema.PersonData{}, map[string]bool{}
	for _, e := range c.Shop.Record.With().Entries {
		switch e.Kind {
		case "person":
			with(e, func(d schema.PersonData) { latest[d.Person] = d })
		case "key":
			with(e, func(d schema.KeyData) { gone[d.Person] = d.Action == "revoke" })
		}
	}
	maps.DeleteFunc(latest, func(other string, p schema.PersonData) bool { return other == id || gone[other] || !HandsOn(p) })
	return slices.Sorted(maps.Keys(latest))
}

// IsLead reports that the person may sign off and waive.
func (c *Car) IsLead(id string) bool {
	p, ok := c.Person(id)
	return ok && slices.Contains(p.Roles, schema.Lead)
}
