package fuel

import (
	"fmt"
	"sort"

	"feedproof/schema/quantity"
)

// CurvePoint is one measured point of a pump.
type CurvePoint struct {
	Pressure quantity.Difference // outlet over inlet
	Voltage  quantity.Voltage    // at the terminals
	Flow     quantity.Flow
	Current  quantity.Current // zero: not measured here
}

// Pump is one pump as bought.
type Pump struct {
	Name       string
	Curve      []CurvePoint
	Relief     quantity.Difference // internal relief; zero unknown
	Ageing     quantity.Fraction   // of new flow; zero: [Ageing]
	Resistance quantity.Resistance // of the winding; lets one curve serve other voltages
}

// Shop practice for what is left of a new pump's flow.
const (
	Ageing            quantity.Fraction    = 0.95
	HotFuel           quantity.Fraction    = 0.95
	HotFuelFrom       quantity.Temperature = 318.15 // 45 degC
	EfficiencyCeiling quantity.Fraction    = 0.45   // a claim above it is a typing error
)

// row is the curve at one voltage, by rising pressure.
type row struct {
	voltage quantity.Voltage
	points  []CurvePoint
}

// Curve is a pump's checked curve in two axes.
//
// Flow and current are linear in pressure between points, which never
// overshoots. Between two voltages they are linear in voltage at constant
// pressure: at constant torque a brushed motor's speed is linear in voltage
// (V = I R + k w). Beyond the outermost voltages the same line runs on for at
// most the measured span. A pump measured at one voltage only is carried up to
// 3 V down by the affinity laws at the speed ratio of [MotorSpeedRatio], or of
// the voltages when the winding resistance is unknown; upwards only with the
// resistance, else it gives no more than was measured.
type Curve struct {
	name       string
	rows       []row
	resistance quantity.Resistance
}

// NewCurve checks a pump's points and orders them. Errors name the pump, the
// point and what is wrong: fewer than three points at a voltage, a point twice,
// flow that rises with pressure or falls with voltage, an efficiency above 45 %.
func NewCurve(p Pump) (Curve, error) {
	c := Curve{name: p.Name, resistance: p.Resistance}
	if c.name == "" {
		c.name = "pump"
	}
	for _, q := range p.Curve {
		if err := c.checkPoint(q); err != nil {
			return Curve{}, err
		}
		c.add(q)
	}
	if len(c.rows) == 0 {
		return Curve{}, fmt.Errorf("%s: the curve has no points", c.name)
	}
	sort.Slice(c.rows, func(a, b int) bool { return c.rows[a].voltage < c.rows[b].voltage })
	for _, r := range c.rows {
		sort.Slice(r.points, func(a, b int) bool { return r.points[a].Pressure < r.points[b].Pressure })
		if err := c.checkRow(r); err != nil {
			return Curve{}, err
		}
	}
	return c, c.checkVoltages()
}

func (c *Curve) add(q CurvePoint) {
	for i := range c.rows {
		if c.rows[i].voltage == q.Voltage {
			c.rows[i].points = append(c.rows[i].points, q)
			return
		}
	}
	c.rows = append(c.rows, row{q.Voltage, []CurvePoint{q}})
}

func (c *Curve) checkPoint(q CurvePoint) error {
	err := first(within("voltage", q.Voltage, 5, 60), within("pressure", q.Pressure, 0, 20e5),
		within("flow", q.Flow, 0, 3000*quantity.LPerH), within("current", q.Current, 0, 100))
	if err != nil {
		return fmt.Errorf("%s: %w", c.at(q), err)
	}
	if q.Current == 0 {
		return nil
	}
	if eff := Efficiency(q.Pressure, q.Flow, q.Voltage, q.Current); eff > EfficiencyCeiling {
		return fmt.Errorf("%s: %s at %s is an efficiency of %s, more than %s: a typing error or a claim that cannot be", c.at(q),
			quantity.Text(q.Flow), quantity.Text(q.Current), quantity.Format(eff, "%", 0), quantity.Format(EfficiencyCeiling, "%", 0))
	}
	return nil
}

func (c *Curve) at(q CurvePoint) string {
	return fmt.Sprintf("%s curve at %s and %s", c.name, quantity.Text(q.Pressure), quantity.Text(q.Voltage))
}

func (c *Curve) checkRow(r row) error {
	for i := 1; i < len(r.points); i++ {
		a, b := r.points[i-1], r.points[i]
		if a.Pressure == b.Pressure {
			return fmt.Errorf("%s: the point is given twice", c.at(a))
		}
		if b.Flow > a.Flow {
			return fmt.Errorf("%s curve at %s: flow rises from %s to %s as pressure rises from %s to %s; are pressure and flow in each other's column?", c.name, quantity.Text(r.voltage),
				quantity.Text(a.Flow), quantity.Text(b.Flow), quantity.Text(a.Pressure), quantity.Text(b.Pressure))
		}
	}
	if len(r.points) < 3 {
		return fmt.Errorf("%s curve at %s: %d points, at least three are needed to see its shape", c.name, quantity.Text(r.voltage), len(r.points))
	}
	return nil
}

func (c *Curve) checkVoltages() error {
	for i := 1; i < len(c.rows); i++ {
		lo, hi := c.rows[i-1], c.rows[i]
		for _, q := range hi.points {
			if q.Pressure < lo.low() || q.Pressure > lo.high() {
				continue
			}
			if below := lo.flow(q.Pressure); below > q.Flow {
				return fmt.Errorf("%s curve at %s: more flow at %s (%s) than at %s (%s)", c.name, quantity.Text(q.Pressure),
					quantity.Text(lo.voltage), quantity.Text(below), quantity.Text(hi.voltage), quantity.Text(q.Flow))
			}
		}
	}
	return nil
}

func (r row) low() quantity.Difference  { return r.points[0].Pressure }
func (r row) high() quantity.Difference { return r.points[len(r.points)-1].Pressure }

// segment is the pair of points around p; the end pairs serve beyond the ends.
func (r row) segment(p quantity.Difference) (a, b CurvePoint, t float64) {
	k := sort.Search(len(r.points)-2, func(k int) bool { return p <= r.points[k+1].Pressure })
	a, b = r.points[k], r.points[k+1]
	return a, b, float64((p - a.Pressure) / (b.Pressure - a.Pressure))
}

func (r row) flow(p quantity.Difference) quantity.Flow {
	a, b, t := r.segment(p)
	return a.Flow + (b.Flow-a.Flow)*quantity.Flow(t)
}

func (r row) current(p quantity.Difference) (quantity.Current, bool) {
	a, b, t := r.segment(p)
	if a.Current == 0 || b.Current == 0 {
		return 0, false
	}
	return a.Current + (b.Current-a.Current)*quantity.Current(t), true
}

// around is the pair of rows for a voltage and the weight of the upper one.
func (c Curve) around(v quantity.Voltage) (lo, hi row, t float64) {
	k := sort.Search(len(c.rows)-2, func(k int) bool { return v <= c.rows[k+1].voltage })
	lo, hi = c.rows[k], c.rows[k+1]
	return lo, hi, float64((v - lo.voltage) / (hi.voltage - lo.voltage))
}

// Range is the pressures the curve covers at a voltage. Those of a pump that
// was measured at one voltage shrink with the square of its speed.
func (c Curve) Range(v quantity.Voltage) (low, high quantity.Difference) {
	if len(c.rows) == 1 {
		r := c.rows[0]
		return r.low() * c.squared(r.low(), v), r.high() * c.squared(r.high(), v)
	}
	lo, hi, _ := c.around(v)
	return max(lo.low(), hi.low()), min(lo.high(), hi.high())
}

// squared is the square of the speed ratio at a measured pressure of the one
// voltage that was measured.
func (c Curve) squared(p quantity.Difference, v quantity.Voltage) quantity.Difference {
	w := quantity.Difference(c.speed(p, v))
	return w * w
}

// bends are the pressures at which the curve changes its slope at a voltage.
func (c Curve) bends(v quantity.Voltage) (out []quantity.Difference) {
	for _, r := range c.rows {
		for _, q := range r.points {
			p := q.Pressure
			if len(c.rows) == 1 {
				p *= c.squared(p, v)
			}
			out = append(out, p)
		}
	}
	return out
}

// carried says how far the curve is carried beyond the voltages at which it was
// measured; empty when it is not.
func (c Curve) carried(v quantity.Voltage) string {
	first, last := c.rows[0].voltage, c.rows[len(c.rows)-1].voltage
	low, high := c.VoltageRange()
	switch {
	case v >= first && v <= last:
		return ""
	case len(c.rows) == 1:
		return fmt.Sprintf("%s: measured at %s only, carried to %s by the affinity laws; they serve %s to %s", c.name, quantity.Text(first), quantity.Text(v), quantity.Text(low), quantity.Text(high))
	}
	return fmt.Sprintf("%s: measured at %s to %s, carried on to %s in a straight line; it serves %s to %s", c.name, quantity.Text(first), quantity.Text(last), quantity.Text(v), quantity.Text(low), quantity.Text(high))
}

// VoltageRange is the voltages the curve answers for.
func (c Curve) VoltageRange() (low, high quantity.Voltage) {
	low, high = c.rows[0].voltage, c.rows[len(c.rows)-1].voltage
	if len(c.rows) > 1 {
		return low - (high - low), high + (high - low)
	}
	return low - 3, low + 3
}

// Flow is the delivery of a new pump at a pressure and terminal voltage.
// A pressure or voltage outside the curve is a [RangeError].
func (c Curve) Flow(p quantity.Difference, v quantity.Voltage) (quantity.Flow, error) {
	if low, high := c.Range(v); p < low || p > high {
		return 0, within(fmt.Sprintf("%s at %s", c.name, quantity.Text(v)), p, low, high)
	}
	return c.beyond(p, v)
}

// beyond is Flow with the last segments carried on past the measured pressures.
func (c Curve) beyond(p quantity.Difference, v quantity.Voltage) (quantity.Flow, error) {
	low, high := c.VoltageRange()
	if err := within(c.name+" terminal voltage", v, low, high); err != nil {
		return 0, err
	}
	if len(c.rows) == 1 {
		return max(0, c.single(p, v)), nil
	}
	lo, hi, t := c.around(v)
	a, b := lo.flow(p), hi.flow(p)
	return max(0, a+(b-a)*quantity.Flow(t)), nil
}

// single serves a pump measured at one voltage, by the affinity laws.
func (c Curve) single(p quantity.Difference, v quantity.Voltage) quantity.Flow {
	w := c.speed(p, v)
	if w <= 0 {
		return 0
	}
	return quantity.Flow(w) * c.rows[0].flow(p/quantity.Difference(w*w))
}

// speed is the speed at a voltage over the speed at the one that was measured.
func (c Curve) speed(p quantity.Difference, v quantity.Voltage) quantity.Fraction {
	r := c.rows[0]
	if current, known := r.current(p); known && c.resistance > 0 {
		return MotorSpeedRatio(v, r.voltage, current, c.resistance)
	}
	return min(1, quantity.Fraction(v/r.voltage))
}

// Current drawn at a pressure and voltage; false when the curve has none.
// With current measured at one voltage only, that current serves all
// voltages: a brushed pump draws a little less as volts fall, so the wire
// drop comes out on the high side.
func (c Curve) Current(p quantity.Difference, v quantity.Voltage) (quantity.Current, bool) {
	var known []row
	for _, r := range c.rows {
		if _, ok := r.current(p); ok {
			known = append(known, r)
		}
	}
	switch len(known) {
	case 0:
		return 0, false
	case 1:
		return known[0].current(p)
	}
	measured := Curve{rows: known}
	v = min(max(v, known[0].voltage), known[len(known)-1].voltage)
	lo, hi, t := measured.around(v)
	a, _ := lo.current(p)
	b, _ := hi.current(p)
	return a + (b-a)*quantity.Current(t), true
}

// HydraulicPower is p Q.
func HydraulicPower(p quantity.Difference, q quantity.Flow) quantity.Power {
	return quantity.Power(float64(p) * float64(q))
}

// Efficiency is hydraulic over electrical power, 15 to 30 % for a brushed
// turbine pump, to 40 % brushless (common practice).
func Efficiency(p quantity.Difference, q quantity.Flow, v quantity.Voltage, i quantity.Current) quantity.Fraction {
	return quantity.Fraction(float64(HydraulicPower(p, q)) / (float64(v) * float64(i)))
}

// MotorSpeedRatio of a permanent-magnet motor at constant torque, so constant
// current: (V - I R)/(V0 - I R). Source: machine theory, V = I R + k w (from memory).
func MotorSpeedRatio(v, reference quantity.Voltage, i quantity.Current, r quantity.Resistance) quantity.Fraction {
	lost := quantity.Voltage(float64(i) * float64(r))
	return quantity.Fraction((v - lost) / (reference - lost))
}
