package places

import (
	"cmp"
	"slices"
)

// shownNearest is how many words are offered for one that is unknown.
const shownNearest = 3

func placeWords() []string {
	var out []string
	for _, p := range Table {
		out = append(out, p.Name)
		out = append(out, p.Words...)
	}
	return out
}

func jointWords() []string {
	var out []string
	for _, j := range joints {
		out = append(out, j.name)
		out = append(out, j.words...)
	}
	return out
}

// nearest are the names that take the fewest slips of the finger.
func nearest(typed string, words []string, named func(string) string) []string {
	word := fold(typed)
	words = slices.Clone(words)
	slices.SortStableFunc(words, func(a, b string) int { return cmp.Compare(Slips(word, fold(a)), Slips(word, fold(b))) })
	var out []string
	for _, w := range words {
		name := named(w)
		if !slices.Contains(out, name) {
			out = append(out, name)
		}
		if len(out) == shownNearest {
			break
		}
	}
	return out
}

// Slips is the edit distance of two words: letters put in, left out or changed.
func Slips(a, b string) int {
	x, y := []rune(a), []rune(b)
	row := make([]int, len(y)+1)
	for j := range row {
		row[j] = j
	}
	for i, r := range x {
		before := row[0]
		row[0] = i + 1
		for j, s := range y {
			was := row[j+1]
			change := before
			if r != s {
				change++
			}
			row[j+1], before = min(change, was+1, row[j]+1), was
		}
	}
	return row[len(y)]
}
