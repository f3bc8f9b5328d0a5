package fuel

import "math"

// Friction is a law for the Darcy friction factor from Reynolds number and
// relative roughness e/D. Between Reynolds 2000 and 4000 the laws differ by up
// to 40 %, above by 3 %.
type Friction func(re, roughness float64) float64

// Reynolds numbers between which pipe flow is neither laminar nor turbulent.
const (
	LaminarBelow   = 2000
	TurbulentAbove = 4000
)

// Churchill covers every Reynolds number without a step:
// f = 8[(8/Re)^12 + (A+B)^-1.5]^(1/12), A = [2.457 ln(1/((7/Re)^0.9 + 0.27 e/D))]^16,
// B = (37530/Re)^16. Source: Churchill (1977), Chem. Eng. 84(24), 91.
func Churchill(re, roughness float64) float64 {
	a := sixteenth(2.457 * math.Log(1/(math.Pow(7/re, 0.9)+0.27*roughness)))
	b := sixteenth(37530 / re)
	l := 8 / re
	l4 := l * l * l * l
	s := a + b
	return 8 * math.Sqrt(math.Sqrt(math.Cbrt(l4*l4*l4+1/(s*math.Sqrt(s)))))
}

// sixteenth is x to the 16th power.
func sixteenth(x float64) float64 {
	x *= x
	x *= x
	x *= x
	return x * x
}

// Colebrook solves 1/sqrt f = -2 log10(e/3.7D + 2.51/(Re sqrt f)) by Newton's
// method. Re above 4000. Source: Colebrook (1939), J. ICE 11, 133.
func Colebrook(re, roughness float64) float64 {
	x := 1 / math.Sqrt(Haaland(re, roughness))
	for range 20 {
		inner := roughness/3.7 + 2.51*x/re
		residual := x + 2*math.Log10(inner)
		step := residual / (1 + 2*2.51/(re*inner*math.Ln10))
		x -= step
		if math.Abs(step) < 1e-15*x {
			break
		}
	}
	return 1 / (x * x)
}

// Haaland is 1/sqrt f = -1.8 log10((e/3.7D)^1.11 + 6.9/Re). Re above 4000.
// Source: Haaland (1983), J. Fluids Eng. 105, 89.
func Haaland(re, roughness float64) float64 {
	x := -1.8 * math.Log10(math.Pow(roughness/3.7, 1.11)+6.9/re)
	return 1 / (x * x)
}

// SwameeJain is f = 0.25/[log10(e/3.7D + (6.97/Re)^0.9)]^2. Re 5e3 to 1e8, e/D
// 1e-6 to 5e-2. Source: Swamee & Jain (1976), J. Hyd. Div. 102(5), 657.
func SwameeJain(re, roughness float64) float64 {
	x := math.Log10(roughness/3.7 + math.Pow(6.97/re, 0.9))
	return 0.25 / (x * x)
}

// churchillSlope is d ln f / d ln Re of [Churchill], for the network's steps.
// It is a difference over 0.1 %, exact enough to steer by.
func churchillSlope(re, roughness float64) (factor, slope float64) {
	factor = Churchill(re, roughness)
	return factor, (Churchill(re*1.001, roughness)/factor - 1) / 0.001
}
