package state

import (
	"slices"

	"feedproof/schema"
)

// Person finds the latest roster entry of a person.
func (c *Car) Person(id string) (schema.PersonData, bool) {
	all := c.people()
	i := slices.IndexFunc(all, func(p schema.PersonData) bool { return p.Person == id })
	if i < 0 {
		return schema.PersonData{}, false
	}
	return all[i], true
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
	gone := map[string]bool{}
	for _, k := range LatestOf(c.Shop.Record, func(k schema.KeyData) string { return k.Person }) {
		gone[k.Person] = k.Action == "revoke"
	}
	var others []string
	for _, p := range c.people() {
		if p.Person != id && !gone[p.Person] && HandsOn(p) {
			others = append(others, p.Person)
		}
	}
	slices.Sort(others)
	return others
}

// people are those of the roster, each as last described.
func (c *Car) people() []schema.PersonData {
	return LatestOf(c.Shop.Record, func(p schema.PersonData) string { return p.Person })
}

// IsLead reports that the person may sign off and waive.
func (c *Car) IsLead(id string) bool {
	p, ok := c.Person(id)
	return ok && slices.Contains(p.Roles, schema.Lead)
}
