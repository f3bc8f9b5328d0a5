package rules

import (
	"testing"

	"feedproof/schema"
	"feedproof/schema/quantity"
)

// Between 8.0 and 9.4 A and between 12.0 and 12.5 A no standard blade lies at
// 1.25 to 1.6 times the current: the next one above 1.25 times is in order, one
// more is not.
func TestNextStandardFuseIsInOrder(t *testing.T) {
	for _, c := range []struct {
		fuse, current quantity.Current
		want          schema.Severity
	}{
		{10, 8.0, schema.OK}, {15, 8.5, schema.OK}, {15, 9.3, schema.OK}, {20, 8.5, schema.Hold}, {10, 8.5, schema.Flag},
		{20, 12.2, schema.OK}, {25, 12.2, schema.Hold}, {15, 12.2, schema.Flag}, {20, 14, schema.OK}, {25, 14, schema.Flag},
	} {
		if got := fuseBand(c.fuse, c.current); got != c.want {
			t.Errorf("%v A for %v A: %s, want %s", c.fuse, c.current, got, c.want)
		}
	}
}
