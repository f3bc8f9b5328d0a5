package desk

import (
	"feedproof/checklist"
	"feedproof/schema"
)

// HoldPoint finds a hold point of a car's visit, and how the car stands.
func (d *Desk) HoldPoint(c Car, name string) (checklist.Point, checklist.Assessment, error) {
	a, err := d.Assess(c)
	if err != nil {
		return checklist.Point{}, a, err
	}
	if len(a.Points) == 0 {
		return checklist.Point{}, a, failed("feedproof visit open "+Quoted(c.Data.Name)+" --kind a,b", c.Data.Name, "no visit is open")
	}
	i, err := PickExact("hold point", name, a.Points, func(p checklist.Point) string { return p.ID })
	if err != nil {
		return checklist.Point{}, a, err
	}
	return a.Points[i], a, nil
}

// Closing is the fact that closes a hold point, with what it rests on. Who works
// alone is the second person too, delayed. What is missing refuses it.
func (d *Desk) Closing(c Car, point, second string, delayed bool) (schema.HoldPointData, error) {
	closing := schema.HoldPointData{Action: schema.ClosePoint}
	p, a, err := d.HoldPoint(c, point)
	if err != nil {
		return closing, err
	}
	me, err := d.Who()
	if err != nil {
		return closing, err
	}
	if second != "" {
		m, err := d.Person(second)
		if err != nil {
			return closing, err
		}
		second = m.Person
	}
	if delayed || second == me.Person {
		second, closing.Why = me.Person, checklist.SamePersonDelayed
	}
	if found := checklist.CanClose(a, p.ID, me.Person, second); len(found) > 0 {
		return closing, &Error{
			Wrong: p.ID + " stays locked: " + Plural(len(found), "thing") + " missing; nothing was changed", Kind: Refused,
			Found: Named(found, c.Data.Name), Mend: "feedproof explain " + p.ID,
		}
	}
	closing.Point, closing.Second, closing.Rests = p.ID, second, checklist.Rests(a, p.ID)
	return closing, nil
}
