package fuel

import (
	"cmp"
	"fmt"
	"slices"

	"feedproof/checklist/fuel/network"
	"feedproof/schema/quantity"
)

// Arrangement is how several pumps work together.
type Arrangement string

// Arrangements. Staged pumps are parallel, all but the first switched on by
// load; zero is parallel.
const (
	Parallel Arrangement = "parallel"
	Series   Arrangement = "series"
	Staged   Arrangement = "staged"
)

// bank is the pumps of a system as one source of flow.
type bank struct {
	pumps       []Pump
	curves      []Curve
	arrangement Arrangement
	hot         bool
}

func newBank(s System) (bank, error) {
	b := bank{pumps: s.Pumps, arrangement: s.Arrangement, hot: s.Fuel.Temperature > HotFuelFrom}
	if len(s.Pumps) == 0 {
		return bank{}, fmt.Errorf("pumps: none fitted")
	}
	switch s.Arrangement {
	case "", Parallel, Series, Staged:
	default:
		return bank{}, fmt.Errorf("pumps: arrangement %q is not parallel, series or staged", s.Arrangement)
	}
	for i, p := range s.Pumps {
		if p.Name == "" {
			p.Name = fmt.Sprintf("pump %d", i+1)
		}
		if p.Ageing != 0 {
			if err := within(p.Name+" ageing", p.Ageing, 0.3, 1); err != nil {
				return bank{}, err
			}
		}
		c, err := NewCurve(p)
		if err != nil {
			return bank{}, err
		}
		b.curves = append(b.curves, c)
	}
	return b, nil
}

// left is the share of new flow pump k still gives.
func (b bank) left(k int) quantity.Fraction {
	a := b.pumps[k].Ageing
	if a == 0 {
		a = Ageing
	}
	if b.hot {
		a *= HotFuel
	}
	return a
}

// flow of the whole bank at an outlet pressure; aged says whether ageing and
// hot fuel count; strict refuses pressures outside the curves.
func (b bank) flow(p quantity.Difference, v quantity.Voltage, aged, strict bool) (quantity.Flow, error) {
	if b.arrangement == Series {
		return b.seriesFlow(p, v, aged, strict)
	}
	var sum quantity.Flow
	for k := range b.curves {
		q, err := b.one(k, p, v, aged, strict)
		if err != nil {
			return 0, err
		}
		sum += q
	}
	return sum, nil
}

func (b bank) one(k int, p quantity.Difference, v quantity.Voltage, aged, strict bool) (quantity.Flow, error) {
	f := b.curves[k].beyond
	if strict {
		f = b.curves[k].Flow
	}
	q, err := f(p, v)
	if aged {
		q *= quantity.Flow(b.left(k))
	}
	return q, err
}

// seriesFlow is the flow at which the pressures of all pumps add up to p.
// Every pump's share must lie within its curve; when not strict, flow stays at
// its most below the lowest sum and falls to nothing at twice the highest.
func (b bank) seriesFlow(p quantity.Difference, v quantity.Voltage, aged, strict bool) (quantity.Flow, error) {
	least, most, err := b.shared(v, aged)
	if err != nil {
		return 0, err
	}
	top, bottom := b.sum(least, v, aged), b.sum(most, v, aged)
	switch {
	case strict && (p < bottom || p > top):
		return 0, within(fmt.Sprintf("pumps in series at %s", quantity.Text(v)), p, bottom, top)
	case p <= bottom:
		return most, nil
	case p > top:
		return max(0, least*quantity.Flow(2-p/top)), nil
	}
	return crossing(least, most, func(q quantity.Flow) float64 { return float64(b.sum(q, v, aged) - p) }), nil
}

// shared is the flows that the curves of all pumps in series cover.
func (b bank) shared(v quantity.Voltage, aged bool) (least, most quantity.Flow, err error) {
	for k, c := range b.curves {
		low, high := c.Range(v)
		atLow, err := b.one(k, low, v, aged, true)
		if err != nil {
			return 0, 0, err
		}
		atHigh, err := b.one(k, high, v, aged, true)
		if err != nil {
			return 0, 0, err
		}
		if k == 0 || atLow < most {
			most = atLow
		}
		least = max(least, atHigh)
	}
	if least >= most {
		return 0, 0, fmt.Errorf("pumps in series: at %s their curves share no flow", quantity.Text(v))
	}
	return least, most, nil
}

// sum is the pressure of all pumps in series at a flow that they share.
func (b bank) sum(q quantity.Flow, v quantity.Voltage, aged bool) quantity.Difference {
	var sum quantity.Difference
	for k := range b.curves {
		sum += b.pressureAt(k, q, v, aged)
	}
	return sum
}

// pressureAt inverts the curve of pump k: the pressure at which it gives q.
func (b bank) pressureAt(k int, q quantity.Flow, v quantity.Voltage, aged bool) quantity.Difference {
	low, high := b.curves[k].Range(v)
	return crossing(low, high, func(p quantity.Difference) float64 {
		got, _ := b.one(k, p, v, aged, false)
		return float64(got - q)
	})
}

// current of the hungriest single pump, and of all together, at an outlet
// pressure. Pumps in series have their real shares of it.
func (b bank) current(p quantity.Difference, v quantity.Voltage) (each, all quantity.Current, known bool) {
	q := quantity.Flow(0)
	if b.arrangement == Series {
		var err error
		if q, err = b.seriesFlow(p, v, false, false); err != nil {
			return 0, 0, false
		}
	}
	for k, c := range b.curves {
		share := p
		if b.arrangement == Series {
			share = b.pressureAt(k, q, v, false)
		}
		i, ok := c.Current(share, v)
		if !ok {
			return 0, 0, false
		}
		each, all = max(each, i), all+i
	}
	return each, all, true
}

// table is the whole bank as one curve of pressure over flow, straight where
// the pumps' curves are, with the pressures that those cover.
func (b bank) table(v quantity.Voltage, aged bool) (t network.Table, low, high quantity.Difference, err error) {
	points, low, high, err := b.corners(v, aged)
	if err != nil {
		return network.Table{}, 0, 0, err
	}
	slices.SortFunc(points, func(x, y corner) int { return cmp.Compare(y.rise, x.rise) })
	for _, c := range points {
		if k := len(t.Flow); k > 0 && (c.flow <= t.Flow[k-1]*(1+1e-9) || c.rise >= t.Rises[k-1]) {
			continue
		}
		t.Flow, t.Rises = append(t.Flow, c.flow), append(t.Rises, c.rise)
	}
	if len(t.Flow) < 2 {
		return network.Table{}, 0, 0, fmt.Errorf("pumps: at %s the curve gives one flow for all pressures", quantity.Text(v))
	}
	t, err = network.NewTable(t.Flow, t.Rises, 1)
	return t, low, high, err
}

type corner struct {
	flow quantity.Flow
	rise quantity.Difference
}

// corners are where the curve of the bank bends, and the pressures it covers.
func (b bank) corners(v quantity.Voltage, aged bool) (out []corner, low, high quantity.Difference, err error) {
	if b.arrangement == Series {
		return b.seriesCorners(v, aged)
	}
	for k, c := range b.curves {
		l, h := c.Range(v)
		if low = max(low, l); k == 0 || h < high {
			high = h
		}
		for _, p := range c.bends(v) {
			q, err := b.flow(p, v, aged, false)
			if err != nil {
				return nil, 0, 0, err
			}
			out = append(out, corner{q, p})
		}
	}
	return out, low, high, nil
}

func (b bank) seriesCorners(v quantity.Voltage, aged bool) (out []corner, low, high quantity.Difference, err error) {
	least, most, err := b.shared(v, aged)
	if err != nil {
		return nil, 0, 0, err
	}
	flows := []quantity.Flow{least, most}
	for k, c := range b.curves {
		for _, p := range c.bends(v) {
			if q, err := b.one(k, p, v, aged, false); err == nil && q > least && q < most {
				flows = append(flows, q)
			}
		}
	}
	for _, q := range flows {
		out = append(out, corner{q, b.sum(q, v, aged)})
	}
	return out, b.sum(most, v, aged), b.sum(least, v, aged), nil
}

// relief is the lowest pressure at which an internal relief opens; zero unknown.
func (b bank) relief() quantity.Difference {
	var lowest, sum quantity.Difference
	for _, p := range b.pumps {
		if p.Relief == 0 {
			return 0
		}
		sum += p.Relief
		if lowest == 0 || p.Relief < lowest {
			lowest = p.Relief
		}
	}
	if b.arrangement == Series {
		return sum
	}
	return lowest
}

// NewFlow is what new pumps of a system give together at a pressure rise and
// voltage, by their curves. Errors: a pressure or voltage outside them.
func NewFlow(s System, rise quantity.Difference, v quantity.Voltage) (quantity.Flow, error) {
	b, err := newBank(s)
	if err != nil {
		return 0, err
	}
	return b.flow(rise, v, false, true)
}

// carried says how far the curves are carried beyond what was measured at a
// voltage; empty when they are not.
func (b bank) carried(v quantity.Voltage) string {
	for _, c := range b.curves {
		if text := c.carried(v); text != "" {
			return text
		}
	}
	return ""
}
