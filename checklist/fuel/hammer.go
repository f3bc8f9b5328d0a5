package fuel

import (
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"

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

// wallModulus of tube materials, Pa. Steel as in Wylie & Streeter's examples;
// the others from memory of handbook tables, within 3 %.
var wallModulus = map[string]float64{"steel": 207e9, "stainless": 193e9, "aluminium": 70e9, "copper": 117e9, "brass": 105e9}

// WallModulus is Young's modulus of a tube's material by its name. Plastics and
// hoses are not here: theirs depends on make, temperature and fuel taken up.
func WallModulus(material string) (float64, error) {
	name := strings.Replace(strings.ToLower(material), "aluminum", "aluminium", 1)
	if e, ok := wallModulus[name]; ok {
		return e, nil
	}
	return 0, fmt.Errorf("tube of %q: no modulus known; known are %s", material, strings.Join(slices.Sorted(maps.Keys(wallModulus)), ", "))
}
