package fuel

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"

	"feedproof/schema/quantity"
)

// Tolerance is how far an input may be off, to both sides, as the half-width of
// an even distribution: Input as in [Inputs], Width such as "5 %" or "0.05 bar".
type Tolerance struct {
	Input string
	Width string
}

// DefaultTolerances when nobody measured better. Common practice.
func DefaultTolerances() []Tolerance {
	return []Tolerance{
		{"power", "3 %"}, {"bsfc", "5 %"}, {"pump-flow", "5 %"}, {"voltage", "0.2 V"}, {"source", "0.2 V"}, {"injector-flow", "2 %"},
		{"dead-time", "10 %"}, {"base", "0.05 bar"}, {"feed-loss", "20 %"}, {"manifold", "3 kPa"},
	}
}

// Range is a result with the interval that holds it 95 times in 100.
type Range[Q quantity.Quantity] struct{ Best, Low, High Q }

// Share is what one input contributes to the variance of the margin.
type Share struct {
	Input string
	Of    quantity.Fraction
}

// Method says how a range was computed.
type Method string

// Methods: first order of the law of propagation (JCGM 100), or distributions
// through the model (JCGM 101).
const (
	FirstOrder Method = "first order"
	MonteCarlo Method = "Monte Carlo"
)

// Ranges of a plan's results.
type Ranges struct {
	Method    Method
	Trials    int    // of Monte Carlo
	Seed      uint64 // same seed, same ranges
	Demand    Range[quantity.Flow]
	Outlet    Range[quantity.Gauge]
	Delivery  Range[quantity.Flow]
	Margin    Range[quantity.Fraction]
	Effective Range[quantity.Fraction]
	Commanded Range[quantity.Fraction]
	Shares    []Share // largest first
}

// Figures of the two methods. An even distribution of half-width w has the
// standard uncertainty w/sqrt 3; k = 1.96 covers 95 % of a normal result.
const (
	coverageFactor = 1.96
	trials         = 2000
	bend           = 0.10
)

// watched are the results that get a range.
const watched = 6

func watch(r Result) [watched]float64 {
	out := [watched]float64{float64(r.Demand.Volume), float64(r.Pressures.Outlet), float64(r.Delivery.Flow), float64(r.Delivery.Margin)}
	if r.Injection != nil {
		out[4], out[5] = float64(r.Injection.Effective), float64(r.Injection.Commanded)
	}
	return out
}

const marginAt = 3

// Uncertainty gives the ranges of a plan from the tolerances of its inputs.
// Tolerances of parts the system does not have are passed over. First order
// serves while the model is straight over each tolerance; where a result bends
// by more than a tenth of its change, 2000 Monte Carlo trials with the seed
// take over. A planned outlet pressure keeps its reserve over the computed one.
func Uncertainty(s System, tolerances []Tolerance, seed uint64) (Ranges, error) {
	u, err := newUncertain(s, tolerances)
	if err != nil {
		return Ranges{}, err
	}
	out, bends, err := u.firstOrder()
	if err != nil || !bends {
		return out, err
	}
	shares := out.Shares
	out, err = u.monteCarlo(trials, seed)
	out.Shares = shares
	return out, err
}

// uncertain is a system with what may be off.
type uncertain struct {
	s      System
	lead   lead
	best   [watched]float64
	inputs []input
	widths []float64
	values []float64
}

func newUncertain(s System, tolerances []Tolerance) (*uncertain, error) {
	u := &uncertain{s: s, lead: s.lead()}
	for _, t := range tolerances {
		i, err := findInput(t.Input)
		if err != nil {
			return nil, fmt.Errorf("tolerance: %w", err)
		}
		v, there := i.get(&s)
		if !there || v == 0 {
			continue
		}
		w, err := i.step(t.Width, v)
		if err != nil {
			return nil, fmt.Errorf("tolerance of %s: %w", t.Input, err)
		}
		if !(w >= 0) {
			return nil, fmt.Errorf("tolerance of %s: %s is not a half-width", t.Input, t.Width)
		}
		u.inputs, u.widths, u.values = append(u.inputs, i), append(u.widths, w), append(u.values, v)
	}
	var err error
	u.best, err = u.at(make([]float64, len(u.inputs)))
	return u, err
}

// at plans with every input off by a share of its width.
func (u *uncertain) at(off []float64) ([watched]float64, error) {
	s := u.s.clone()
	for k, i := range u.inputs {
		if off[k] != 0 {
			i.set(&s, u.values[k]+off[k]*u.widths[k])
		}
	}
	if s.OutletPressure != 0 {
		s.keep(u.lead)
	}
	p := planner{s: s, quick: true}
	r, err := p.run()
	return watch(r), err
}

func (u *uncertain) firstOrder() (Ranges, bool, error) {
	var variance, skew [watched]float64
	shares := make([]Share, len(u.inputs))
	off := make([]float64, len(u.inputs))
	bends := false
	for k, i := range u.inputs {
		up, err := u.shifted(off, k, 1)
		if err != nil {
			return Ranges{}, false, err
		}
		down, err := u.shifted(off, k, -1)
		if err != nil {
			return Ranges{}, false, err
		}
		for j := range variance {
			c := (up[j] - down[j]) / 2
			variance[j] += c * c / 3
			skew[j] += math.Abs(up[j]+down[j]-2*u.best[j]) / 2
			if j == marginAt {
				shares[k] = Share{i.name, quantity.Fraction(c * c / 3)}
			}
		}
	}
	var low, high [watched]float64
	for j := range variance {
		sigma := math.Sqrt(variance[j])
		low[j], high[j] = u.best[j]-coverageFactor*sigma, u.best[j]+coverageFactor*sigma
		bends = bends || skew[j] > bend*coverageFactor*sigma
	}
	for k := range shares {
		shares[k].Of /= quantity.Fraction(math.Max(variance[marginAt], 1e-300))
	}
	slices.SortStableFunc(shares, func(a, b Share) int {
		if a.Of > b.Of {
			return -1
		}
		return 1
	})
	out := ranges(u.best, low, high)
	out.Method, out.Shares = FirstOrder, shares
	return out, bends, nil
}

func (u *uncertain) shifted(off []float64, k int, by float64) ([watched]float64, error) {
	off[k] = by
	defer func() { off[k] = 0 }()
	r, err := u.at(off)
	if err != nil {
		return r, fmt.Errorf("with %s at the end of its tolerance: %w", u.inputs[k].name, err)
	}
	return r, nil
}

// monteCarlo draws every input evenly within its width and takes the 2.5 and
// 97.5 % points of the results.
func (u *uncertain) monteCarlo(n int, seed uint64) (Ranges, error) {
	random := rand.New(rand.NewPCG(seed, 1))
	var results [watched][]float64
	off := make([]float64, len(u.inputs))
	for range n {
		for k := range off {
			off[k] = 2*random.Float64() - 1
		}
		r, err := u.at(off)
		if err != nil {
			return Ranges{}, fmt.Errorf("within the tolerances of the inputs: %w", err)
		}
		for j := range r {
			results[j] = append(results[j], r[j])
		}
	}
	var low, high [watched]float64
	for j := range results {
		slices.Sort(results[j])
		low[j], high[j] = results[j][n*25/1000], results[j][n-1-n*25/1000]
	}
	out := ranges(u.best, low, high)
	out.Method, out.Trials, out.Seed = MonteCarlo, n, seed
	return out, nil
}

func ranges(best, low, high [watched]float64) Ranges {
	return Ranges{
		Demand:    asRange[quantity.Flow](best, low, high, 0),
		Outlet:    asRange[quantity.Gauge](best, low, high, 1),
		Delivery:  asRange[quantity.Flow](best, low, high, 2),
		Margin:    asRange[quantity.Fraction](best, low, high, marginAt),
		Effective: asRange[quantity.Fraction](best, low, high, 4),
		Commanded: asRange[quantity.Fraction](best, low, high, 5),
	}
}

func asRange[Q quantity.Quantity](best, low, high [watched]float64, j int) Range[Q] {
	return Range[Q]{Q(best[j]), Q(low[j]), Q(high[j])}
}
