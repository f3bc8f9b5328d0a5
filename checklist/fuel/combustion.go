package fuel

import (
	"fmt"
	"regexp"
	"strconv"
	"strings"

	"feedproof/schema/quantity"
)

// Composition is a fuel C_a H_b O_c.
type Composition struct{ Carbon, Hydrogen, Oxygen float64 }

// Atomic masses in g/mol and dry air: 28.9647 g/mol with 20.946 % oxygen.
const (
	carbonMass   = 12.011
	hydrogenMass = 1.008
	oxygenMass   = 15.999
	airMass      = 28.9647
	airOxygen    = 0.20946
)

var formulaShape = regexp.MustCompile(`^C([0-9.]*)H([0-9.]*)(O[0-9.]*)?$`)

// ParseComposition reads a formula such as C2H6O, C8H18 or CH1.87.
func ParseComposition(formula string) (Composition, error) {
	m := formulaShape.FindStringSubmatch(formula)
	if m == nil {
		return Composition{}, fmt.Errorf("formula %q: not of the form C8H18 or C2H6O1", formula)
	}
	var n [3]float64
	for i := range n {
		count := strings.TrimPrefix(m[i+1], "O")
		switch {
		case i == 2 && m[i+1] == "":
			continue
		case count == "":
			count = "1"
		}
		v, err := strconv.ParseFloat(count, 64)
		if err != nil {
			return Composition{}, fmt.Errorf("formula %q: %q is not a count", formula, count)
		}
		n[i] = v
	}
	return Composition{n[0], n[1], n[2]}, nil
}

// MolarMass in g/mol.
func (c Composition) MolarMass() float64 {
	return c.Carbon*carbonMass + c.Hydrogen*hydrogenMass + c.Oxygen*oxygenMass
}

// Stoichiometric air-fuel ratio by mass: (a + b/4 - c/2) (M_air/x_O2)/M_fuel,
// complete combustion in dry air. Source: Heywood (1988) eq. 3.6.
func (c Composition) Stoichiometric() (AirFuelRatio, error) {
	oxygen := c.Carbon + c.Hydrogen/4 - c.Oxygen/2
	if c.MolarMass() <= 0 || oxygen <= 0 {
		return 0, fmt.Errorf("composition C%gH%gO%g: does not burn", c.Carbon, c.Hydrogen, c.Oxygen)
	}
	return AirFuelRatio(oxygen * airMass / airOxygen / c.MolarMass()), nil
}

// LowerHeatingValue of the liquid at 25 degC from its heat of formation in
// J/mol: products CO2 (-393.51 kJ/mol) and water vapour (-285.83 + 44.01).
// Source: definition, with heats of formation of ATcT 1.112.
func (c Composition) LowerHeatingValue(formation float64) quantity.SpecificEnergy {
	const carbonDioxide, waterVapour = -393510.0, -285830.0 + 44010.0
	released := formation - c.Carbon*carbonDioxide - c.Hydrogen/2*waterVapour
	return quantity.SpecificEnergy(released / (c.MolarMass() * quantity.Gram))
}
