package fuel

import (
	"math"

	"feedproof/schema/quantity"
)

// ExpansionCoefficient of the gasoline group at 15 degC, per kelvin:
// alpha = K0/rho^2 + K1/rho with K0 346.4228, K1 0.4388 and rho at 15 degC.
// Range 653 to 770 kg/m3. Source: ASTM D1250-80 / API MPMS 11.1 (1980) Table
// 54B. The coefficients per degree Fahrenheit (192.4571, 0.2438) are a second
// family, 1.8 times smaller; the two are never mixed.
func ExpansionCoefficient(at15 quantity.Density) (float64, error) {
	if err := within("gasoline density at 15 degC", at15, 653, 770); err != nil {
		return 0, err
	}
	return expansion(float64(at15)), nil
}

func expansion(rho15 float64) float64 { return 346.4228/(rho15*rho15) + 0.4388/rho15 }

// VolumeCorrection is the volume at 15 degC over the volume at t for gasoline:
// VCF = exp(-a dt (1 + 0.8 a dt)), dt = t - 15 degC. Density at t is the density
// at 15 degC times it. Range 653 to 770 kg/m3, -50 to 95 degC.
// Source: ASTM D1250-80 Table 54B.
func VolumeCorrection(at15 quantity.Density, t quantity.Temperature) (quantity.Fraction, error) {
	a, err := ExpansionCoefficient(at15)
	if err != nil {
		return 0, err
	}
	if err := within("gasoline temperature", t, celsius(-50), celsius(95)); err != nil {
		return 0, err
	}
	return quantity.Fraction(correction(a, float64(t)-288.15)), nil
}

func correction(alpha, dt float64) float64 {
	return math.Exp(-alpha * dt * (1 + 0.8*alpha*dt))
}

// VolumeCorrection60F is the 2004 procedure to base 60 degF, which shifts the
// base to the 1968 temperature scale by half of 0.01374979547 degF and the
// temperature by Table 5 of the procedure. Range 610.6 to 770.352 kg/m3 at 60
// degF, -58 to 302 degF. Source: API MPMS 11.1-2004 (ASTM D1250-04) 11.1.5.3 and 11.1.6.1;
// the order of the steps is from memory.
func VolumeCorrection60F(at60F quantity.Density, t quantity.Temperature) (quantity.Fraction, error) {
	if err := within("gasoline density at 60 degF", at60F, 610.6, 770.352); err != nil {
		return 0, err
	}
	if err := within("gasoline temperature", t, fahrenheit(-58), fahrenheit(302)); err != nil {
		return 0, err
	}
	const k0, k1, shift = 192.4571, 0.2438, 0.01374979547
	rho := float64(at60F)
	a := shift / 2 * (k0/rho + k1) / rho
	b := (2*k0 + k1*rho) / (k0 + k1*rho)
	star := rho * (1 + (math.Exp(a*(1+0.8*a))-1)/(1+a*(1+1.6*a)*b))
	alpha := (k0/star + k1) / star
	dt := scale1968(float64(t)-273.15)*1.8 + 32 - 60.0068749
	return quantity.Fraction(math.Exp(-alpha * dt * (1 + 0.8*alpha*(dt+shift)))), nil
}

func fahrenheit(t float64) quantity.Temperature { return celsius((t - 32) / 1.8) }

// scale1968 turns degC of ITS-90 into degC of IPTS-68.
// Source: API MPMS 11.1-2004, 11.1.5.3 (coefficients read).
func scale1968(t90 float64) float64 {
	coefficients := [...]float64{-0.148759, -0.267408, 1.080760, 1.269056, -4.089591, -1.871251, 7.438081, -3.536296}
	tau, sum := t90/630, 0.0
	for i := len(coefficients) - 1; i >= 0; i-- {
		sum = (sum + coefficients[i]) * tau
	}
	return t90 - sum
}

// EthanolDensity of an ethanol-water mixture with mass fraction p of ethanol.
//
// rho = sum A_k p^k + sum B_k (t-20)^k + sum C_ik p^k (t-20)^i, t in degC,
// kg/m3. Range -20 to 40 degC. Source: OIML R 22 (1975), Table I.
func EthanolDensity(p quantity.Fraction, t quantity.Temperature) (quantity.Density, error) {
	if err := within("ethanol mass fraction", p, 0, 1); err != nil {
		return 0, err
	}
	if err := within("ethanol temperature", t, celsius(-20), celsius(40)); err != nil {
		return 0, err
	}
	x, dt := float64(p), float64(t)-293.15
	rho := polynomial(oimlA, x) + dt*polynomial(oimlB, dt)
	for i, row := range oimlC {
		rho += math.Pow(dt, float64(i+1)) * x * polynomial(row, x)
	}
	return quantity.Density(rho), nil
}

// polynomial is c0 + c1 x + c2 x^2 ...
func polynomial(c []float64, x float64) float64 {
	sum := 0.0
	for i := len(c) - 1; i >= 0; i-- {
		sum = sum*x + c[i]
	}
	return sum
}

var (
	oimlA = []float64{9.982012300e2, -1.929769495e2, 3.891238958e2, -1.668103923e3, 1.352215441e4, -8.829278388e4, 3.062874042e5, -6.138381234e5, 7.470172998e5, -5.478461354e5, 2.234460334e5, -3.903285426e4}
	oimlB = []float64{-2.0618513e-1, -5.2682542e-3, 3.6130013e-5, -3.8957702e-7, 7.1693540e-9, -9.9739231e-11}
	oimlC = [][]float64{
		{1.693443461530087e-1, -1.046914743455169e1, 7.196353469546523e1, -7.047478054272792e2, 3.924090430035045e3, -1.210164659068747e4, 2.248646550400788e4, -2.605562982188164e4, 1.852373922069467e4, -7.420201433430137e3, 1.285617841998974e3},
		{-1.193013005057010e-2, 2.517399633803461e-1, -2.170575700536993, 1.353034988843029e1, -5.029988758547014e1, 1.096355666577570e2, -1.422753946421155e2, 1.080435942856230e2, -4.414153236817392e1, 7.442971530188783},
		{-6.802995733503803e-4, 1.876837790289664e-2, -2.002561813734156e-1, 1.022992966719220, -2.895696483903638, 4.810060584300675, -4.672147440794683, 2.458043105903461, -5.411227621436812e-1},
		{4.075376675622027e-6, -8.763058573471110e-6, 6.515031360099368e-6, -1.515784836987210e-6},
		{-2.788074354782409e-8, 1.345612883493354e-8},
	}
)
