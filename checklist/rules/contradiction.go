package rules

import (
	"slices"

	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/quantity"
)

// contradicts judges a value of the last loaded log that must be near zero.
// Two facts that cannot both be true are held until somebody explains; both
// facts stay.
func contradicts[Q quantity.Quantity](c *state.Car, l fromLog[Q], most float64) []schema.Finding {
	l.scale = scale{{most, schema.Hold}}
	return slices.DeleteFunc(l.judge(c), func(f schema.Finding) bool { return f.Severity < schema.Hold })
}
