package fuel

import (
	"regexp"
)

// Atomic masses in g/mol and dry air: 28.9647 g/mol with 20.946 % oxygen.
const (
	carbonMass   = 12.011
	hydrogenMass = 1.008
	oxygenMass   = 15.999
	airMass      = 28.9647
	airOxygen    = 0.20946
)

var formulaShape = regexp.MustCompile(`^C([0-9.]*)H([0-9.]*)(O[0-9.]*)?$`)
