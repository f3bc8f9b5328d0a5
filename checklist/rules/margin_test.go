package rules

import "testing"

// TestMarginIsNotRoundedOverItsLimit: 1.1996 is not 1.20, and must not look it.
func TestMarginIsNotRoundedOverItsLimit(t *testing.T) {
	for _, c := range []struct {
		margin float64
		want   string
	}{
		{1.2, "1.20"}, {1.21, "1.21"}, {1.1996, "1.1996"}, {1.1951, "1.195"}, {1.194, "1.19"}, {0.99999, "0.99999"}, {0.9999999, "0.9999999"}, {1.0999, "1.0999"},
	} {
		if got := margin(c.margin); got != c.want {
			t.Errorf("%v prints %s, want %s", c.margin, got, c.want)
		}
	}
}
