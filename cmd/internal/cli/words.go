package cli

import (
	"fmt"
	"strings"
)

// plural counts things: "1 entry", "3 entries".
func plural(n int, thing string) string {
	switch {
	case n == 1:
	case strings.HasSuffix(thing, "y") && !strings.HasSuffix(thing, "ey") && !strings.HasSuffix(thing, "ay"):
		thing = strings.TrimSuffix(thing, "y") + "ies"
	default:
		thing += "s"
	}
	return fmt.Sprintf("%d %s", n, thing)
}

// joinNonEmpty puts together what says something.
func joinNonEmpty(parts ...string) string {
	var out []string
	for _, p := range parts {
		if p != "" {
			out = append(out, p)
		}
	}
	return strings.Join(out, ", ")
}

// oneLine is the first line of a text.
func oneLine(text string) string {
	first, _, _ := strings.Cut(text, "\n")
	return first
}

// cut shortens a text to its first sentence or so many characters.
func cut(text string, most int) string {
	if first, _, ok := strings.Cut(text, ". "); ok {
		text = first
	}
	runes := []rune(text)
	if len(runes) <= most {
		return strings.TrimSuffix(text, ".")
	}
	short := string(runes[:most])
	if i := strings.LastIndexByte(short, ' '); i > 0 {
		short = short[:i]
	}
	return strings.TrimRight(short, ",;: ") + " ..."
}
