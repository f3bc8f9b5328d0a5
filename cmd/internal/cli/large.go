package cli

import "strings"

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
	'U': {"##  ##", "##  ##", "##  ##", "##  ##", " #### "},
}

// large writes a word in rows of large letters; a space, and what is not among
// them, is a gap.
func large(word string) []string {
	rows := make([]string, 5)
	for _, r := range word {
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
