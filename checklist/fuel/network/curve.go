package network

import (
	"fmt"
	"math"

	"feedproof/schema/quantity"
)

// PowerLaw is the pump curve rise = w^2 (shutoff - r (q/w)^n), w the speed
// over the speed of the curve (affinity laws). r is in Pa per (m3/s)^n.
type PowerLaw struct {
	Shutoff     quantity.Difference
	Coefficient float64
	Exponent    float64
	Speed       float64
}

// Rise at flow.
func (c PowerLaw) Rise(q quantity.Flow) (quantity.Difference, float64) {
	w := c.Speed
	x := math.Max(float64(q), linearBelow) / w
	p := c.Coefficient * math.Pow(x, c.Exponent)
	slope := -w * c.Exponent * p / x
	if float64(q) < linearBelow {
		return quantity.Difference(w*w*(float64(c.Shutoff)-p)) + quantity.Difference(slope)*quantity.Difference(float64(q)-linearBelow), slope
	}
	return quantity.Difference(w * w * (float64(c.Shutoff) - p)), slope
}

// Table is a pump curve through points, straight between them and carried on
// past the last. Speed scales it by the affinity laws.
type Table struct {
	Flow  []quantity.Flow
	Rises []quantity.Difference
	Speed float64
}

// NewTable checks that flow rises and pressure falls from point to point.
func NewTable(flow []quantity.Flow, rises []quantity.Difference, speed float64) (Table, error) {
	if len(flow) != len(rises) || len(flow) < 2 || !(speed > 0) {
		return Table{}, fmt.Errorf("pump curve: %d flows, %d pressures, speed %g; at least two points and a speed are needed", len(flow), len(rises), speed)
	}
	for i := 1; i < len(flow); i++ {
		if flow[i] <= flow[i-1] || rises[i] >= rises[i-1] {
			return Table{}, fmt.Errorf("pump curve: pressure does not fall with flow between %s and %s", quantity.Text(flow[i-1]), quantity.Text(flow[i]))
		}
	}
	return Table{flow, rises, speed}, nil
}

// Rise at flow.
func (t Table) Rise(q quantity.Flow) (quantity.Difference, float64) {
	w := t.Speed
	x := q / quantity.Flow(w)
	k := 1
	for k < len(t.Flow)-1 && x > t.Flow[k] {
		k++
	}
	slope := float64(t.Rises[k]-t.Rises[k-1]) / float64(t.Flow[k]-t.Flow[k-1])
	rise := t.Rises[k-1] + quantity.Difference(slope*float64(x-t.Flow[k-1]))
	return quantity.Difference(w*w) * rise, w * slope
}
