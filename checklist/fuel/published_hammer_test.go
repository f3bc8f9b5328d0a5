package fuel

import (
	"fmt"
	"regexp"
	"strings"

	q "feedproof/schema/quantity"
)

// Bulk moduli and densities the rows of wave speed take by name: water 2.19 GPa,
// gasoline 1.3 GPa. Walls are by the name of their material.
var hammerFamilies = []family{
	rows("t16", `kort_.*`, func(r checkRow) ([]float64, error) {
		bulk, rho := 1.3e9, q.Density(745)
		if strings.HasPrefix(r["inputs"], "water") {
			bulk, rho = 2.19e9, 1000
		}
		modulus, bore, wall, err := tube(r)
		if err != nil {
			return nil, err
		}
		a := WaveSpeed(bulk, rho, modulus, bore, wall)
		return []float64{float64(a), float64(SurgePressure(rho, a, 1)) / q.KPa}, nil
	}),
}

func tube(r checkRow) (modulus float64, bore, wall q.Length, err error) {
	if strings.Contains(r["inputs"], "rigid") {
		return 0, 1, 1, nil
	}
	if m := regexp.MustCompile(`, (\w+) (?:tube|D)`).FindStringSubmatch(r["inputs"]); m != nil {
		if modulus, err = WallModulus(m[1]); err != nil {
			return 0, 0, 0, err
		}
	}
	if v, err := r.inputsOf(`D# m`, `e# mm`); err == nil && modulus > 0 {
		return modulus, q.Length(v[0]), q.Length(v[1] * q.MM), nil
	}
	if v, err := r.inputsOf(`tube #x`, `x# ID`); err == nil && modulus > 0 {
		return modulus, q.Length(v[0]), q.Length(v[1]), nil
	}
	v, err := r.inputsOf(`# ID`, `# wall`)
	if err != nil {
		return 0, 0, 0, err
	}
	if e, err := r.input(num + ` GPa`); err == nil {
		return e * 1e9, q.Length(v[0]), q.Length(v[1]), nil
	}
	if e, err := r.input(num + ` MPa`); err == nil {
		return e * 1e6, q.Length(v[0]), q.Length(v[1]), nil
	}
	return 0, 0, 0, fmt.Errorf("%q: no modulus", r["inputs"])
}
