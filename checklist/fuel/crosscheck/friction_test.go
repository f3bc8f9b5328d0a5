package crosscheck

import "math"

// Friction is the engine's Darcy factor: 64/Re to 2000, the cubic of Dunlop
// (1991) to 4000, Swamee-Jain above. Its cubic takes 5.74/Re^0.9 at Re 4000, so
// that it meets Swamee-Jain in value and slope.
func Friction(re, roughness float64) (factor, slope float64) {
	switch {
	case re <= 2000:
		return 64 / re, -1
	case re < 4000:
		return dunlop(re, roughness)
	}
	y1 := 5.74 / math.Pow(re, 0.9)
	y2 := roughness/3.7 + y1
	y3 := -2 / math.Ln10 * math.Log(y2)
	return 1 / (y3 * y3), -1.8 * 2 / math.Ln10 * y1 / (y2 * y3)
}

// at4000 is 5.74/4000^0.9.
const at4000 = 3.28895476345399058690e-03

func dunlop(re, roughness float64) (factor, slope float64) {
	y2 := roughness/3.7 + at4000
	y3 := -2 / math.Ln10 * math.Log(y2)
	fa := 1 / (y3 * y3)
	fb := fa * (2 - 0.00514215/(y2*y3))
	x1, x2 := 7*fa-fb, 0.128-17*fa+2.5*fb
	x3, x4 := -0.128+13*fa-2*fb, 0.032-3*fa+0.5*fb
	r := re / 2000
	f := x1 + r*(x2+r*(x3+r*x4))
	return f, r * (x2 + r*(2*x3+r*3*x4)) / f
}
