package language

import (
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"maps"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// gaps are the places that are filled, in order.
var gaps = regexp.MustCompile(`%(\[\d+\])?[sdqv%]`)

// Every language has the keys of the English one and fills the same gaps.
func TestLanguagesAreComplete(t *testing.T) {
	all := load()
	english := all[Default]
	if len(all) < 2 || len(english) < 100 {
		t.Fatalf("%d languages, %d English texts", len(all), len(english))
	}
	for code, said := range all {
		if diff := cmp.Diff(slices.Sorted(maps.Keys(english)), slices.Sorted(maps.Keys(said))); diff != "" {
			t.Errorf("%s: keys (-en +%s)\n%s", code, code, diff)
		}
		for key, text := range said {
			if strings.TrimSpace(text) == "" {
				t.Errorf("%s: %s is empty", code, key)
			}
			if diff := cmp.Diff(gaps.FindAllString(english[key], -1), gaps.FindAllString(text, -1)); diff != "" {
				t.Errorf("%s: %s: gaps\n%s", code, key, diff)
			}
		}
	}
}

// whole are keys that the code puts together.
var whole = map[string]func(string) bool{
	"do.": nil, "severity.": nil, "seen.": nil, "why.": nil, "sheet.card.": nil,
}

// Every text that is asked for is there, and every text that is there is asked
// for.
func TestTextsAreUsed(t *testing.T) {
	asked := map[string]bool{}
	for _, folder := range []string{"../guide", "../sheets", "../desk", "../cli", "../page"} {
		for _, key := range askedIn(t, folder) {
			asked[key] = true
		}
	}
	if len(asked) < 80 {
		t.Fatalf("only %d texts are asked for", len(asked))
	}
	english := load()[Default]
	for key := range asked {
		if english[key] == "" {
			t.Errorf("%s is asked for and not there", key)
		}
	}
	for key := range english {
		together := slices.ContainsFunc(slices.Collect(maps.Keys(whole)), func(start string) bool { return strings.HasPrefix(key, start) })
		if !asked[key] && !together {
			t.Errorf("%s is there and never asked for", key)
		}
	}
}

// askers are the functions whose string arguments are keys.
var askers = []string{"say", "Say", "with", "labelled", "identity"}

// askedIn lists the keys that a package asks for: literal arguments of the
// askers, and literals that look like the key of a sheet.
func askedIn(t *testing.T, folder string) []string {
	t.Helper()
	files, err := filepath.Glob(filepath.Join(folder, "*.go"))
	if err != nil || len(files) == 0 {
		t.Fatalf("%s: %v", folder, err)
	}
	var out []string
	english := load()[Default]
	for _, name := range files {
		if strings.HasSuffix(name, "_test.go") {
			continue
		}
		text, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		tree, err := parser.ParseFile(token.NewFileSet(), name, text, 0)
		if err != nil {
			t.Fatal(err)
		}
		ast.Inspect(tree, func(n ast.Node) bool {
			switch n := n.(type) {
			case *ast.CallExpr:
				if key, ok := firstKey(n); ok && slices.Contains(askers, called(n)) && !strings.Contains(folder, "cli") {
					out = append(out, key)
				}
			case *ast.BasicLit:
				if text, err := strconv.Unquote(n.Value); err == nil && n.Kind == token.STRING && english[text] != "" {
					out = append(out, text)
				}
			}
			return true
		})
	}
	return out
}

func called(c *ast.CallExpr) string {
	switch f := c.Fun.(type) {
	case *ast.SelectorExpr:
		return f.Sel.Name
	case *ast.Ident:
		return f.Name
	}
	return ""
}

// firstKey is the first literal argument that stands alone.
func firstKey(c *ast.CallExpr) (string, bool) {
	for _, a := range c.Args {
		if lit, ok := a.(*ast.BasicLit); ok && lit.Kind == token.STRING {
			text, err := strconv.Unquote(lit.Value)
			return text, err == nil
		}
	}
	return "", false
}

// A language that does not exist is English, and a key that does not is itself.
func TestFallingBack(t *testing.T) {
	for _, c := range []struct{ code, key, want string }{
		{"en", "fuel.open", "FUEL OPEN"}, {"de", "fuel.open", "SYSTEM OFFEN"}, {"xx", "fuel.open", "FUEL OPEN"}, {"", "fuel.open", "FUEL OPEN"}, {"en", "no such text", "no such text"},
	} {
		if got := In(c.code).Say(c.key); got != c.want {
			t.Errorf("%s in %q: %q, want %q", c.key, c.code, got, c.want)
		}
	}
	if got := In("de").Say("next.point", "HP2"); got != fmt.Sprintf("weiter %s", "HP2") {
		t.Error(got)
	}
}
