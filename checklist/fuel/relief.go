package fuel

import "feedproof/schema/quantity"

// reliefBand is over how much pressure a relief valve opens. Real ones take
// more; the pressure at which all goes back is the same.
const reliefBand quantity.Difference = 0.05e5

// Relieved is the pump with a relief valve that lets all its flow back at a
// pressure: below it the curve is as measured. A pump that was measured below
// that pressure only stays as it is.
func (p Pump) Relieved(at quantity.Difference) Pump {
	c, err := NewCurve(p)
	if err != nil {
		return p
	}
	var points []CurvePoint
	for _, r := range c.rows {
		if at-reliefBand <= r.low() || at >= r.high() {
			return p
		}
		for _, q := range r.points {
			if q.Pressure < at-reliefBand {
				points = append(points, q)
			}
		}
		points = append(points, CurvePoint{Pressure: at - reliefBand, Voltage: r.voltage, Flow: r.flow(at - reliefBand)}, CurvePoint{Pressure: at, Voltage: r.voltage})
	}
	p.Curve, p.Relief = points, at
	return p
}
