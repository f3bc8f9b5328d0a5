package past

import (
	"feedproof/checklist/state"
	"feedproof/schema"
)

// Component is a part in a position, from its fitting until it came out.
type Component struct {
	Data   schema.FitData
	In     schema.Entry
	Out    *schema.Entry // the removal, or the next fitting in its place; nil while it is in
	Why    string        // why it came out
	Visit  *Visit        // in which it was fitted; without a number when it was before the first
	Leaves *Visit        // in which it came out; without a number while it is in
}

// Components lists all that was ever fitted, in order of fitting. Visits are
// those of the car.
func Components(c *state.Car, visits []Visit) []Component {
	var all []Component
	in := map[string]int{} // position: the component that is there
	standing := c.Standing()
	for i := range standing {
		e := &standing[i]
		if e.Kind != "fit" && e.Kind != "remove" {
			continue
		}
		at := visitOf(visits, *e)
		out := func(position, why string) {
			if i, there := in[position]; there {
				all[i].Out, all[i].Why, all[i].Leaves = e, why, at
				delete(in, position)
			}
		}
		if d, is := As[schema.FitData](*e); is {
			out(d.Position, "another one was fitted")
			in[d.Position] = len(all)
			all = append(all, Component{Data: d, In: *e, Visit: at, Leaves: noVisit})
		}
		if d, is := As[schema.RemoveData](*e); is {
			out(d.Position, d.Why)
		}
	}
	return all
}
