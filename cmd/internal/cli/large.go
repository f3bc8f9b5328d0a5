package cli

import (
	"slices"
	"strings"
)

// letters are the capitals that the board of a car writes large, five rows
// each.
var letters = map[rune][5]string{
	'C': {" #### ", "##    ", "##    ", "##    ", " #### "},
	'D': {"####  ", "## ## ", "##  ##", "## ## ", "####  "},
	'E': {"######", "##    ", "##### ", "##    ", "######"},
	'F': {"######", "##    ", "##### ", "##    ", "##    "},
	'H': {"##  ##", "##  ##", "######", "##  ##", "##  ##"},
	'L': {"##    ", "##    ", "##    ", "##    ", "######"},
	'N': {"##  ##", "### ##", "######", "## ###", "##  ##"},
	'O': {" #### ", "##  ##", "##  ##", "##  ##", " #### "},
	'P': {"##### ", "##  ##", "##### ", "##    ", "##    "},
	'S': {" #####", "##    ", " #### ", "    ##", "##### "},
	'T': {"######", "  ##  ", "  ##  ", "  ##  ", "  ##  "},
	'U': {"##  ##", "##  ##", "##  ##", "##  ##", " #### "},
}

// large writes a text in rows of large letters, each row of them after a blank
// one; a word below the other where they do not fit in the columns there are,
// and in letters of the usual size where a word does not.
func large(text string, columns int) []string {
	rows := enlarged(text)
	if widest(rows) <= columns {
		return append([]string{""}, rows...)
	}
	first, rest, more := strings.Cut(text, " ")
	if !more {
		return []string{"", text}
	}
	return append(large(first, columns), large(rest, columns)...)
}

func widest(rows []string) int {
	return len(slices.MaxFunc(rows, func(a, b string) int { return len(a) - len(b) }))
}

// enlarged is a text in large letters; a space, and what is not among them, is
// a gap.
func enlarged(text string) []string {
	rows := make([]string, 5)
	for _, r := range text {
		for i := range rows {
			if l, ok := letters[r]; ok {
				rows[i] += l[i] + " "
			} else {
				rows[i] += "  "
			}
		}
	}
	for i := range rows {
		rows[i] = strings.TrimRight(rows[i], " ")
	}
	return rows
}
