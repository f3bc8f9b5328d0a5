package fuel

import (
	"fmt"
	"maps"
	"slices"
	"sort"
	"strings"

	"feedproof/schema/quantity"
)

// HoseSpecification names a hose family with a published table of bores.
type HoseSpecification string

// Specifications. Source of the first two tables: FAA AC 43.13-1B (1998), Table
// 9-3, its sizes above -16 from memory; of the SAE J517 hoses: from memory.
const (
	SingleBraid HoseSpecification = "MIL-H-8794"
	MultiBraid  HoseSpecification = "MIL-H-8788"
	OneWire     HoseSpecification = "SAE 100R1" // bore is the dash number in sixteenths
	TwoWire     HoseSpecification = "SAE 100R2" // likewise
	FibreBraid  HoseSpecification = "SAE 100R5" // sizes of tube, as MIL-H-8794
)

// boreSixtyFourths is the inside diameter in 1/64 in by dash number.
var boreSixtyFourths = map[HoseSpecification]map[int]float64{
	SingleBraid: {3: 8, 4: 12, 5: 16, 6: 20, 8: 26, 10: 32, 12: 40, 16: 56, 20: 72, 24: 88, 32: 116, 40: 152, 48: 192},
	MultiBraid:  {4: 14, 5: 18, 6: 22, 8: 28, 10: 36, 12: 44, 16: 56},
	OneWire:     {3: 12, 4: 16, 5: 20, 6: 24, 8: 32, 10: 40, 12: 48, 16: 64, 20: 80, 24: 96, 32: 128},
	TwoWire:     {3: 12, 4: 16, 5: 20, 6: 24, 8: 32, 10: 40, 12: 48, 16: 64, 20: 80, 24: 96, 32: 128},
	FibreBraid:  {4: 12, 5: 16, 6: 20, 8: 26, 10: 32, 12: 40, 16: 56, 20: 72, 24: 88, 32: 116},
}

// HoseBore is the inside diameter of a dash size. A dash number is the tube's
// outside diameter in sixteenths of an inch, not the bore; the bore depends on
// the specification.
func HoseBore(spec HoseSpecification, dash int) (quantity.Length, error) {
	table, ok := boreSixtyFourths[spec]
	if !ok {
		return 0, fmt.Errorf("hose specification %q: no bores known; known are %v", spec, slices.Sorted(maps.Keys(boreSixtyFourths)))
	}
	sixtyFourths, ok := table[dash]
	if !ok {
		return 0, fmt.Errorf("hose -%d: not a size of %s, which has %v", dash, spec, slices.Sorted(maps.Keys(table)))
	}
	return quantity.Length(sixtyFourths / 64 * quantity.Inch), nil
}

// minorLoss lists K of fittings. Source: USEPA EPANET 2.2 User Manual
// (EPA/600/R-20/133), minor-loss table.
var minorLoss = map[string]float64{
	"globe valve": 10, "angle valve": 5, "swing check valve": 2.5, "gate valve": 0.2,
	"short-radius elbow": 0.9, "medium-radius elbow": 0.8, "long-radius elbow": 0.6, "45 degree elbow": 0.4,
	"closed return bend": 2.2, "standard tee - flow through run": 0.6, "standard tee - flow through branch": 1.8,
	"square entrance": 0.5, "exit": 1,
}

// MinorLoss is K of a fitting by its name in the table, fully open.
func MinorLoss(fitting string) (float64, error) {
	k, ok := minorLoss[strings.ToLower(fitting)]
	if !ok {
		var names []string
		for n := range minorLoss {
			names = append(names, n)
		}
		sort.Strings(names)
		return 0, fmt.Errorf("fitting %q: no coefficient known; known are %s", fitting, strings.Join(names, ", "))
	}
	return k, nil
}

// SuddenExpansion is K of a step from d1 to d2 on the upstream velocity:
// (1-(d1/d2)^2)^2. Source: Borda-Carnot.
func SuddenExpansion(d1, d2 quantity.Length) float64 {
	x := 1 - float64(d1*d1/(d2*d2))
	return x * x
}

// SuddenContraction is K of a step to d2 on the downstream velocity:
// 0.42 (1-b^2) with b = d2/d1 below 0.76, above it the expansion's formula.
// Source: White, Fluid Mechanics (from memory); other texts give up to 0.57 at b = 0.
func SuddenContraction(d1, d2 quantity.Length) float64 {
	b := float64(d2 / d1)
	if b < 0.76 {
		return 0.42 * (1 - b*b)
	}
	return SuddenExpansion(d2, d1)
}
