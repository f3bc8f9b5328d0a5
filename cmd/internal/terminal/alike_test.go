package terminal

import (
	"bytes"
	"html"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/charmbracelet/glamour"
	"github.com/charmbracelet/x/ansi"
	"github.com/google/go-cmp/cmp"
	"github.com/yuin/goldmark"
	"github.com/yuin/goldmark/extension"
)

// Every sheet reads alike on a terminal and through a CommonMark library: the
// same words in the same order. Tables are drawn wide enough not to be folded.
func TestSheetsReadAlikeEverywhere(t *testing.T) {
	found, err := filepath.Glob("../sheets/testdata/golden/*.md")
	if err != nil || len(found) == 0 {
		t.Fatalf("no sheets: %v", err)
	}
	for _, path := range found {
		text, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		const wide = 4000
		drawn, err := render(string(text), glamour.WithStyles(pageStyle), wide)
		if err != nil {
			t.Fatal(err)
		}
		var page bytes.Buffer
		if err := goldmark.New(goldmark.WithExtensions(extension.Table)).Convert(text, &page); err != nil {
			t.Fatal(err)
		}
		want := words(html.UnescapeString(tag.ReplaceAllString(inline.ReplaceAllString(page.String(), ""), " ")))
		if len(want) < 50 {
			t.Fatalf("%s: only %d words", path, len(want))
		}
		if diff := cmp.Diff(want, words(ansi.Strip(drawn))); diff != "" {
			t.Errorf("%s\n%s", filepath.Base(path), diff)
		}
	}
}

var (
	inline = regexp.MustCompile(`</?(code|strong|em)>`)
	tag    = regexp.MustCompile(`<[^>]*>`)
)

// words are what is said; lines of tables and bullets say nothing.
func words(text string) []string {
	said := regexp.MustCompile(`[\pL\pN]`)
	return slices.DeleteFunc(strings.Fields(text), func(w string) bool { return !said.MatchString(w) })
}
