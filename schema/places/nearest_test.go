package places

import (
	"testing"

	"pgregory.net/rapid"
)

// Edit distances worked by hand; kitten, sitting is the usual example (from
// memory, V. I. Levenshtein 1966).
func TestSlips(t *testing.T) {
	for _, c := range []struct {
		a, b string
		want int
	}{{"kitten", "sitting", 3}, {"", "abc", 3}, {"abc", "abc", 0}, {"bsae", "base", 2}, {"µm", "um", 1}} {
		if got := Slips(c.a, c.b); got != c.want {
			t.Errorf("%s, %s: %d, want %d", c.a, c.b, got, c.want)
		}
	}
}

func TestSlipsAreADistance(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		word := rapid.StringMatching(`[a-d]{0,8}`)
		a, b, c := word.Draw(t, "a"), word.Draw(t, "b"), word.Draw(t, "c")
		ab, ba := Slips(a, b), Slips(b, a)
		if ab != ba || (ab == 0) != (a == b) || Slips(a, c) > ab+Slips(b, c) {
			t.Fatalf("%q %q %q: %d %d %d %d", a, b, c, ab, ba, Slips(a, c), Slips(b, c))
		}
	})
}
