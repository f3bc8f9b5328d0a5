package planning

import (
	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/quantity"
)

// Depth is one person's reading of how deep the tank is.
type Depth struct {
	Entry  schema.Entry
	Length quantity.Length
}

// Depths are the last depth that each person read in this visit, in order.
func Depths(c *state.Car) []Depth {
	var out []Depth
	for _, r := range c.All("depth") {
		v, known := r.Value("depth")
		length, err := quantity.Of[quantity.Length](v.Written())
		if !known || err != nil {
			continue
		}
		kept := out[:0]
		for _, d := range out {
			if d.Entry.By != r.Entry.By {
				kept = append(kept, d)
			}
		}
		out = append(kept, Depth{r.Entry, length})
	}
	return out
}

// HangerCut is how long the hanger of a tank module must be cut: the depth, the
// mean of those that were read, with the pressed gasket and less the gap under
// the pick-up. It is not known without a depth, and without gasket and gap in
// the plan. Source: common practice.
func HangerCut(c *state.Car) (quantity.Length, bool) {
	depths := Depths(c)
	if len(depths) == 0 || c.Plan == nil || c.Plan.Tank == nil {
		return 0, false
	}
	gasket, err1 := c.Plan.Tank.Gasket.SI()
	gap, err2 := c.Plan.Tank.Gap.SI()
	sum := quantity.Length(0)
	for _, d := range depths {
		sum += d.Length
	}
	return sum/quantity.Length(len(depths)) + gasket - gap, err1 == nil && err2 == nil
}
