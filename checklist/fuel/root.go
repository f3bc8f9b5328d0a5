package fuel

import (
	"math"

	"feedproof/schema/quantity"
)

// crossing finds where a falling continuous function meets zero between low
// and high, by false position with the Illinois change. A function that is
// positive or negative throughout gives the nearer end.
func crossing[Q quantity.Quantity](low, high Q, f func(Q) float64) Q {
	a, b := float64(low), float64(high)
	fa, fb := f(low), f(high)
	if fa <= 0 {
		return low
	}
	if fb >= 0 {
		return high
	}
	for side, step := 0, 0; step < 100; step++ {
		x := (a*fb - b*fa) / (fb - fa)
		fx := f(Q(x))
		switch {
		case fx == 0 || math.Abs(b-a) <= 1e-13*math.Max(math.Abs(a), math.Abs(b)):
			return Q(x)
		case fx > 0:
			if math.Abs(x-a) <= 1e-14*math.Abs(x) {
				return Q(x)
			}
			a, fa = x, fx
			if side == 1 {
				fb /= 2
			}
			side = 1
		default:
			if math.Abs(x-b) <= 1e-14*math.Abs(x) {
				return Q(x)
			}
			b, fb = x, fx
			if side == -1 {
				fa /= 2
			}
			side = -1
		}
	}
	return Q((a + b) / 2)
}
