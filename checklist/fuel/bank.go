package fuel

import (
	"fmt"

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
	shares := func(q quantity.Flow) (quantity.Difference, error) {
		var sum quantity.Difference
		for k := range b.curves {
			share, err := b.pressureAt(k, q, v, aged)
			if err != nil {
				return 0, err
			}
			sum += share
		}
		return sum, nil
	}
	most, least := quantity.Flow(1), quantity.Flow(0)
	for k := range b.curves {
		l, h := b.curves[k].Range(v)
		atLow, err := b.one(k, l, v, aged, true)
		if err != nil {
			return 0, err
		}
		atHigh, err := b.one(k, h, v, aged, true)
		if err != nil {
			return 0, err
		}
		most, least = min(most, atLow), max(least, atHigh)
	}
	if least >= most {
		return 0, fmt.Errorf("pumps in series: at %s their curves share no flow", quantity.Text(v))
	}
	top, err := shares(least)
	if err != nil {
		return 0, err
	}
	bottom, err := shares(most)
	if err != nil {
		return 0, err
	}
	switch {
	case strict && (p < bottom || p > top):
		return 0, within(fmt.Sprintf("pumps in series at %s", quantity.Text(v)), p, bottom, top)
	case p <= bottom:
		return most, nil
	case p > top:
		return max(0, least*quantity.Flow(2-p/top)), nil
	}
	var failed error
	q := crossing(least, most, func(q quantity.Flow) float64 {
		sum, err := shares(q)
		if err != nil {
			failed = err
		}
		return float64(sum - p)
	})
	return q, failed
}

// pressureAt inverts the curve of pump k: the pressure at which it gives q.
func (b bank) pressureAt(k int, q quantity.Flow, v quantity.Voltage, aged bool) (quantity.Difference, error) {
	low, high := b.curves[k].Range(v)
	var failed error
	p := crossing(low, high, func(p quantity.Difference) float64 {
		got, err := b.one(k, p, v, aged, true)
		if err != nil {
			failed = err
		}
		return float64(got - q)
	})
	return p, failed
}

// current of the hungriest single pump, and of all together, at an outlet pressure.
func (b bank) current(p quantity.Difference, v quantity.Voltage) (each, all quantity.Current, known bool) {
	share := p
	if b.arrangement == Series {
		share = p / quantity.Difference(len(b.curves))
	}
	for _, c := range b.curves {
		i, ok := c.Current(share, v)
		if !ok {
			return 0, 0, false
		}
		each, all = max(each, i), all+i
	}
	return each, all, true
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
