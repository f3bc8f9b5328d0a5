package state

import "feedproof/schema"

// kept is something computed from a car, for that car and that plan.
type kept struct {
	car   *Car
	plan  *schema.PlanData
	value any
}

// Once keeps what is computed from the car, so that every rule that asks for
// it gets the same. A copy of the car, and one with another plan, computes
// anew. It is for one computation, and for one goroutine.
func (c *Car) Once(compute func() any) any {
	if c.kept == nil || c.kept.car != c || c.kept.plan != c.Plan {
		c.kept = &kept{c, c.Plan, compute()}
	}
	return c.kept.value
}
