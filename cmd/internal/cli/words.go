package cli

import (
	"strings"
)

// spaced takes pump-2 for "pump 2".
func spaced(name string) string {
	return strings.Join(strings.FieldsFunc(strings.ToLower(name), func(r rune) bool { return r == ' ' || r == '-' || r == '_' }), " ")
}

func orDash(text string) string {
	if text == "" {
		return "-"
	}
	return text
}

// list is the slice, never nil, so that JSON says [].
func list[T any](items []T) []T {
	if items == nil {
		return []T{}
	}
	return items
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
