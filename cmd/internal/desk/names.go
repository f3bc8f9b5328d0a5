package desk

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"feedproof/schema/places"
)

// Pick finds the one of a list that a typed name means: exactly, else by a
// start that only one has. Two that match are both listed; for none the
// Nearest names are.
func Pick[T any](what, typed string, list []T, names func(T) []string) (int, error) {
	want := Fold(typed)
	exact, starts := Matches(list, names, func(n string) bool { return n == want }), []int(nil)
	if want != "" {
		starts = Matches(list, names, func(n string) bool { return strings.HasPrefix(n, want) })
	}
	for _, found := range [][]int{exact, starts} {
		if len(found) == 1 {
			return found[0], nil
		}
		if len(found) > 1 {
			return 0, usage("name it in full, or by plate or id", what+" "+typed, "could be %s", DescribeAll(list, found, names))
		}
	}
	return 0, usage(Nearest(typed, list, names), what+" "+typed, "is not in this shop")
}

// Matches lists which of a list have a name that is meant, by their place.
func Matches[T any](list []T, names func(T) []string, is func(string) bool) []int {
	var found []int
	for i, item := range list {
		if slices.ContainsFunc(names(item), func(n string) bool { return n != "" && is(Fold(n)) }) {
			found = append(found, i)
		}
	}
	return found
}

// mostNamed bounds how many are named where more than one fits.
const mostNamed = 6

// DescribeAll names those that were found, the first few of many.
func DescribeAll[T any](list []T, found []int, names func(T) []string) string {
	var out []string
	for _, i := range found[:min(len(found), mostNamed)] {
		out = append(out, Describe(names(list[i])))
	}
	if more := len(found) - mostNamed; more > 0 {
		out = append(out, fmt.Sprintf("one of %d more", more))
	}
	return strings.Join(out, " or ")
}

// Describe names something by all its names: "Kestrel (plate KT 42)".
func Describe(names []string) string {
	shown := slices.DeleteFunc(slices.Clone(names), func(n string) bool { return n == "" })
	if len(shown) < 2 {
		return strings.Join(shown, "")
	}
	return fmt.Sprintf("%s (%s)", shown[0], strings.Join(shown[1:], ", "))
}

// Fold makes names equal that a tired person takes for equal.
func Fold(name string) string {
	drop := func(r rune) rune {
		if strings.ContainsRune(" -_.", r) {
			return -1
		}
		return r
	}
	return strings.Map(drop, strings.ToLower(name))
}

// mostNear bounds how many names are offered.
const mostNear = 3

// Nearest offers the names that are least typing away.
func Nearest[T any](typed string, list []T, names func(T) []string) string {
	type near struct {
		name  string
		slips int
	}
	var all []near
	for _, item := range list {
		best := near{slips: 1 << 30}
		for _, n := range names(item) {
			if d := places.Slips(Fold(typed), Fold(n)); n != "" && d < best.slips {
				best = near{n, d}
			}
		}
		all = append(all, best)
	}
	slices.SortStableFunc(all, func(a, b near) int { return cmp.Compare(a.slips, b.slips) })
	var out []string
	for _, n := range all[:min(len(all), mostNear)] {
		out = append(out, n.name)
	}
	if len(out) == 0 {
		return ""
	}
	return "one of these: " + strings.Join(out, ", ")
}

// PickExact finds the one of a list that a typed id means: to the letter, else
// in any case where only one differs by it.
func PickExact[T any](what, typed string, list []T, id func(T) string) (int, error) {
	if i := slices.IndexFunc(list, func(t T) bool { return id(t) == typed }); i >= 0 {
		return i, nil
	}
	found := Matches(list, func(t T) []string { return []string{id(t)} }, func(n string) bool { return n == Fold(typed) })
	switch len(found) {
	case 1:
		return found[0], nil
	case 0:
		return 0, usage(Nearest(typed, list, func(t T) []string { return []string{id(t)} }), what+" "+typed, "is not known")
	}
	return 0, usage("capitals matter here", what+" "+typed, "could be %s", DescribeAll(list, found, func(t T) []string { return []string{id(t)} }))
}
