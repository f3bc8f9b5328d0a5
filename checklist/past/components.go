package past

import (
	"feedproof/checklist/car"
	"feedproof/schema"
)

// Component is a part in a position, from its fitting until it came out.
type Component struct {
	Data   schema.FitData
	In     schema.Entry
	Out    *schema.Entry // the removal, or the next fitting in its place; nil while it is in
	Why    string        // why it came out
	Visit  Visit         // in which it was fitted; the zero visit when it was before the first
	Leaves Visit         // in which it came out
}

// Components lists all that was ever fitted, in order of fitting. Visits are
// those of the car.
func Components(c *car.Car, visits []Visit) []Component {
	var all []Component
	in := map[string]int{} // position: the component that is there
	for _, e := range c.Record.With().Entries {
		if e.Kind != "fit" && e.Kind != "remove" || c.TakenBack(e) {
			continue
		}
		at, _ := VisitAt(visits, e)
		out := func(position, why string) {
			if i, there := in[position]; there {
				all[i].Out, all[i].Why, all[i].Leaves = &e, why, at
				delete(in, position)
			}
		}
		if d, is := As[schema.FitData](e); is {
			out(d.Position, "another one was fitted")
			in[d.Position] = len(all)
			all = append(all, Component{Data: d, In: e, Visit: at})
		}
		if d, is := As[schema.RemoveData](e); is {
			out(d.Position, d.Why)
		}
	}
	return all
}
