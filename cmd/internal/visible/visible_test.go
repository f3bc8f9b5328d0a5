package visible

import (
	"testing"

	"pgregory.net/rapid"
)

func TestText(t *testing.T) {
	for text, want := range map[string]string{
		"pump 2 µ± → 43,5 psi\tä\n": "pump 2 µ± → 43,5 psi\tä\n",
		"bell\a":                    "bell[U+0007]",
		"\x1b[8mFUEL OPEN\x1b[0m":   "[U+001B][8mFUEL OPEN[U+001B][0m",
		"\u009b2J":                  "[U+009B]2J",
		"a\x9b2J":                   "a\uFFFD2J",
		"\u202eDESOLC":              "[U+202E]DESOLC",
		"\u2066x\u2069":             "[U+2066]x[U+2069]",
		"a\u200bb\u2060c\ufeff":     "a[U+200B]b[U+2060]c[U+FEFF]",
		"one\r\ntwo":                "one[U+000D]\ntwo",
		"\x00\x7f\u2028":            "[U+0000][U+007F][U+2028]",
		"\U000E0041":                "[U+E0041]",
	} {
		if got := Text(text); got != want {
			t.Errorf("Text(%q) = %q, want %q", text, got, want)
		}
	}
}

// The characters are those of OWASP's page on CSV injection; a number is none.
func TestCell(t *testing.T) {
	for text, want := range map[string]string{
		"":                      "",
		"-0.3":                  "-0.3",
		"+1e-3":                 "+1e-3",
		"kestrel":               "kestrel",
		"=1+1":                  "'=1+1",
		"+49 1":                 "'+49 1",
		"-2+3+cmd|' /C calc'!A": "'-2+3+cmd|' /C calc'!A",
		"@SUM(A1)":              "'@SUM(A1)",
		"\t=1":                  "'\t=1",
		"\r=1":                  "'[U+000D]=1",
		"\uff1d1":               "'\uff1d1",
		"\u202e":                "[U+202E]",
	} {
		if got := Cell(text); got != want {
			t.Errorf("Cell(%q) = %q, want %q", text, got, want)
		}
	}
}

// What was made visible stays as it is, and nothing hidden is left.
func TestTextLaw(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := Text(rapid.String().Draw(t, "text"))
		if again := Text(text); again != text {
			t.Fatalf("%q becomes %q", text, again)
		}
	})
}
