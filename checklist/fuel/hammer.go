package fuel

import (
	"math"

	"feedproof/schema/quantity"
)

// WaveSpeed of a pressure wave in a line: sqrt((K/rho)/(1 + K D/(E e))) with
// the bulk modulus K, the wall's modulus E and thickness e; E zero is rigid.
// Moduli in Pa. Rubber and PTFE hose have no published modulus: take a wide
// range. Source: Korteweg, in Wylie & Streeter, Fluid Transients, c1 = 1.
func WaveSpeed(bulk float64, rho quantity.Density, wallModulus float64, bore, wall quantity.Length) quantity.Speed {
	compliance := 1.0
	if wallModulus > 0 {
		compliance += bulk * float64(bore) / (wallModulus * float64(wall))
	}
	return quantity.Speed(math.Sqrt(bulk / float64(rho) / compliance))
}

// SurgePressure of a flow stopped faster than a wave runs up and back the
// line, 2L/a: rho a dV. Source: Joukowsky.
func SurgePressure(rho quantity.Density, wave, stopped quantity.Speed) quantity.Difference {
	return quantity.Difference(float64(rho) * float64(wave) * float64(stopped))
}
