// Package visible makes text that people typed stand as text wherever it leaves
// the program: nothing in it steers a terminal, turns a line of writing round,
// hides, or is computed by a spreadsheet.
//
// Start with [Text]. The JSON of records and answers is left as it is: it is
// the record. What is deliberately absent: markup, which whoever writes a page escapes.
package visible

import (
	"fmt"
	"regexp"
	"strings"
	"unicode"
	"unicode/utf8"
)

// Text shows what cannot be seen as its code point in brackets, "[U+202E]":
// controls (C0, C1), format characters (Unicode Cf: direction, zero width) and the
// separators of lines and paragraphs, and what Unicode says is never drawn. Line ends and tabs stay; what is no UTF-8 is
// shown as U+FFFD. It changes nothing the second time.
func Text(text string) string {
	if utf8.ValidString(text) && !strings.ContainsFunc(text, Hidden) {
		return text
	}
	var b strings.Builder
	for _, r := range text {
		if Hidden(r) {
			fmt.Fprintf(&b, "[U+%04X]", r)
		} else {
			b.WriteRune(r)
		}
	}
	return b.String()
}

// Hidden reports a character that is not seen and does something.
func Hidden(r rune) bool {
	return r != '\n' && r != '\t' && unicode.In(r, unicode.Cc, unicode.Cf, unicode.Zl, unicode.Zp, unicode.Other_Default_Ignorable_Code_Point)
}

// number is what a spreadsheet may read as it stands.
var number = regexp.MustCompile(`^[-+]?[0-9]+(\.[0-9]+)?([eE][-+]?[0-9]+)?$`)

// Cell is a text as a cell of a CSV file. A spreadsheet takes a cell that begins
// with one of = + - @, a tab or a line end for a formula: an apostrophe before
// it makes it text. Numbers stay.
// Source: OWASP, CSV Injection, its list of characters.
func Cell(text string) string {
	computed := text != "" && strings.ContainsRune("=+-@\t\r\n＝＋－＠", firstRune(text)) && !number.MatchString(text)
	text = Text(text)
	if computed {
		return "'" + text
	}
	return text
}

func firstRune(text string) rune {
	r, _ := utf8.DecodeRuneInString(text)
	return r
}

// Cells is a row of a CSV file.
func Cells(row []string) []string {
	out := make([]string, len(row))
	for i, text := range row {
		out[i] = Cell(text)
	}
	return out
}
