package rules

import (
	"math"
	"slices"

	"feedproof/checklist/state"
	"feedproof/schema/quantity"
)

// A shop may set a tighter limit of its own, and only a tighter one: see
// [schema.LimitData]. It stands in place of the first step of a rule's scale,
// in the unit of that rule; a looser one, and one in a unit that does not fit,
// has no effect. Rules whose limits are fixed do not ask for it.

// shopScale is a rule's scale and limit in this shop.
func shopScale[Q quantity.Quantity](c *state.Car, rule, limit string, s scale) (scale, string) {
	own, text, ok := shopLimit[Q](c, rule)
	if !ok || own < 0 || own >= s[0].above {
		return s, limit
	}
	s = slices.Clone(s)
	s[0].above = own
	return s, limit + "; this shop: " + text
}

// shopFloor is shopScale for a scale of which less is worse.
func shopFloor[Q quantity.Quantity](c *state.Car, rule, limit string, s floorScale) (floorScale, string) {
	own, text, ok := shopLimit[Q](c, rule)
	if !ok || own <= s[0].above {
		return s, limit
	}
	s = slices.Clone(s)
	s[0].above = own
	return s, limit + "; this shop: " + text
}

func shopLimit[Q quantity.Quantity](c *state.Car, rule string) (own float64, text string, ok bool) {
	d, ok := c.Limit(rule)
	if !ok {
		return 0, "", false
	}
	w := quantity.Written{Value: d.Value, Unit: d.Unit}
	if w.Unit == "" && Q(0).Dimension() == quantity.Fraction(0).Dimension() {
		w.Unit = "ratio"
	}
	q, err := quantity.Of[Q](w)
	return float64(q), quantity.Text(q), err == nil && !math.IsNaN(float64(q))
}
