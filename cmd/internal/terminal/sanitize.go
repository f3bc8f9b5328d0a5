package terminal

import (
	"regexp"
	"strings"
	"unicode"
)

// colors are the sequences that this package itself writes.
var colors = regexp.MustCompile("\x1b\\[[0-9;]*m")

// tame takes control characters out of a text, line ends and our own colours
// apart: a note that came from another machine must not steer the terminal.
func tame(text string) string {
	if !strings.ContainsFunc(text, steers) {
		return text
	}
	var b strings.Builder
	from := 0
	for _, at := range colors.FindAllStringIndex(text, -1) {
		b.WriteString(strings.Map(withoutControl, text[from:at[0]]))
		b.WriteString(text[at[0]:at[1]])
		from = at[1]
	}
	b.WriteString(strings.Map(withoutControl, text[from:]))
	return b.String()
}

func steers(r rune) bool { return unicode.IsControl(r) && r != '\n' && r != '\t' }

func withoutControl(r rune) rune {
	if steers(r) {
		return unicode.ReplacementChar
	}
	return r
}
