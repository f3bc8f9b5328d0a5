package desk

import (
	"fmt"
	"slices"
	"strings"

	"feedproof/schema"
)

// Plural counts things: "1 entry", "3 entries".
func Plural(n int, thing string) string {
	switch {
	case n == 1:
	case strings.HasSuffix(thing, "y") && !strings.HasSuffix(thing, "ey") && !strings.HasSuffix(thing, "ay"):
		thing = strings.TrimSuffix(thing, "y") + "ies"
	default:
		thing += "s"
	}
	return fmt.Sprintf("%d %s", n, thing)
}

// Joined puts together what says something.
func Joined(parts ...string) string {
	return strings.Join(slices.DeleteFunc(slices.Clone(parts), func(p string) bool { return p == "" }), ", ")
}

// Quoted is a name as it must be typed.
func Quoted(name string) string {
	if strings.ContainsAny(name, " '\"") {
		return fmt.Sprintf("%q", name)
	}
	return name
}

// Named puts the car's name where a finding's next step says CAR, so that the
// line can be typed as it stands.
func Named(found []schema.Finding, car string) []schema.Finding {
	out := slices.Clone(found)
	for i := range out {
		out[i].Next = ForCar(out[i].Next, car)
	}
	return out
}

// ForCar puts the car's name where a text says CAR.
func ForCar(text, car string) string { return strings.ReplaceAll(text, " CAR", " "+Quoted(car)) }
