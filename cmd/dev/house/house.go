// Package house draws the house: the packages of the module as rooms on three
// floors, and what imports what, as a mermaid chart in DEVELOPERS.md.
//
// Start with [Run]. The chart is made from the import lines of the sources,
// tests left out. What is deliberately absent: policy; cmd/layout_test.go says
// who may import whom.
package house

//go:generate go run feedproof/cmd/dev house ../../..

import (
	"fmt"
	"go/parser"
	"go/token"
	"io"
	"io/fs"
	"maps"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
)

const module = "feedproof"

// floors are the three, from above, and the folders that stand on each.
var floors = []struct {
	title   string
	folders []string
}{
	{"what people use", []string{"cmd"}},
	{"what is judged, what is kept", []string{"checklist", "records"}},
	{"the form on disk", []string{"schema"}},
}

// Marks between which the chart stands in the page.
const (
	begin = "<!-- drawn by: go generate ./cmd/dev/house -->\n"
	end   = "<!-- end of the drawing -->\n"
)

// Run draws the module of a folder into its DEVELOPERS.md.
func Run(args []string, _ io.Writer) error {
	if len(args) != 1 {
		return fmt.Errorf("want the folder of the module")
	}
	chart, err := draw(os.DirFS(args[0]))
	if err != nil {
		return err
	}
	page := filepath.Join(args[0], "DEVELOPERS.md")
	text, err := os.ReadFile(page)
	if err != nil {
		return err
	}
	drawn, err := between(string(text), chart)
	if err != nil {
		return fmt.Errorf("%s: %w", page, err)
	}
	return os.WriteFile(page, []byte(drawn), 0o644)
}

// between puts the chart between the marks of a page.
func between(page, chart string) (string, error) {
	before, rest, begun := strings.Cut(page, begin)
	_, after, ended := strings.Cut(rest, end)
	if !begun || !ended {
		return "", fmt.Errorf("lacks the lines %q and %q", strings.TrimSpace(begin), strings.TrimSpace(end))
	}
	return before + begin + chart + end + after, nil
}

// imports is which rooms each room imports.
type imports map[string]map[string]bool

// draw makes the chart of a module.
func draw(module fs.FS) (string, error) {
	rooms, err := readImports(module)
	if err != nil {
		return "", err
	}
	if err := rooms.check(); err != nil {
		return "", err
	}
	return chart(rooms), nil
}

// readImports reads the import lines of a module's sources.
func readImports(files fs.FS) (imports, error) {
	rooms := imports{}
	err := fs.WalkDir(files, ".", func(p string, entry fs.DirEntry, err error) error {
		switch {
		case err != nil:
			return err
		case entry.IsDir() && p != "." && (entry.Name() == "testdata" || strings.HasPrefix(entry.Name(), ".")):
			return fs.SkipDir
		case entry.IsDir() || !isSource(p):
			return nil
		}
		return rooms.read(files, p)
	})
	if err == nil && len(rooms) == 0 {
		err = fmt.Errorf("no package found")
	}
	return rooms, err
}

// isSource leaves out tests and what is for them alone.
func isSource(p string) bool {
	return path.Ext(p) == ".go" && !strings.HasSuffix(p, "_test.go") && !strings.HasSuffix(path.Dir(p), "test")
}

func (rooms imports) read(files fs.FS, p string) error {
	text, err := fs.ReadFile(files, p)
	if err != nil {
		return err
	}
	tree, err := parser.ParseFile(token.NewFileSet(), p, text, parser.ImportsOnly)
	if err != nil {
		return err
	}
	from := room(path.Dir(p))
	if rooms[from] == nil {
		rooms[from] = map[string]bool{}
	}
	for _, spec := range tree.Imports {
		imported, _ := strconv.Unquote(spec.Path.Value)
		if own, is := strings.CutPrefix(imported, module+"/"); is && room(own) != from {
			rooms[from][room(own)] = true
		}
	}
	return nil
}

// room is where a package is drawn: in a room of its own, or in that of the
// folder it stands in when that is two deep, under cmd/internal three.
func room(dir string) string {
	depth := 2
	if strings.HasPrefix(dir, "cmd/internal/") {
		depth = 3
	}
	parts := strings.Split(dir, "/")
	return path.Join(parts[:min(depth, len(parts))]...)
}

// floor is the floor of a room, from above; -1 when it has none.
func floor(room string) int {
	folder, _, _ := strings.Cut(room, "/")
	for i, f := range floors {
		if slices.Contains(f.folders, folder) {
			return i
		}
	}
	return -1
}

// check holds that each room has a floor, that none imports one above it, and
// that none imports itself by a way round.
func (rooms imports) check() error {
	for _, from := range slices.Sorted(maps.Keys(rooms)) {
		if floor(from) < 0 {
			return fmt.Errorf("%s: stands on no floor: give its folder one in cmd/dev/house", from)
		}
		for _, to := range slices.Sorted(maps.Keys(rooms[from])) {
			switch {
			case rooms[to] == nil:
				return fmt.Errorf("%s: imports %s, which is for tests", from, to)
			case floor(to) < floor(from):
				return fmt.Errorf("%s: imports %s, which is above it", from, to)
			}
		}
		if rooms.below(from)[from] {
			return fmt.Errorf("%s: imports itself, by a way round", from)
		}
	}
	return nil
}

// below are the rooms that a room reaches.
func (rooms imports) below(from string) map[string]bool {
	reached := map[string]bool{}
	var visit func(string)
	visit = func(r string) {
		for to := range rooms[r] {
			if !reached[to] {
				reached[to] = true
				visit(to)
			}
		}
	}
	visit(from)
	return reached
}

// arrows are the imports of a room that no longer way shows already.
func (rooms imports) arrows(from string) []string {
	var out []string
	for to := range rooms[from] {
		shown := false
		for other := range rooms[from] {
			shown = shown || rooms.below(other)[to]
		}
		if !shown {
			out = append(out, to)
		}
	}
	slices.Sort(out)
	return out
}

// chart is the mermaid text.
func chart(rooms imports) string {
	var b strings.Builder
	b.WriteString("```mermaid\nflowchart TD\n")
	names := slices.Sorted(maps.Keys(rooms))
	for i, f := range floors {
		fmt.Fprintf(&b, "  subgraph floor%d [%s]\n", i, f.title)
		for _, r := range names {
			if floor(r) == i {
				fmt.Fprintf(&b, "    %s[%s]\n", node(r), strings.TrimPrefix(r, "cmd/internal/"))
			}
		}
		b.WriteString("  end\n")
	}
	for _, from := range names {
		if to := rooms.arrows(from); len(to) > 0 {
			for i := range to {
				to[i] = node(to[i])
			}
			fmt.Fprintf(&b, "  %s --> %s\n", node(from), strings.Join(to, " & "))
		}
	}
	b.WriteString("```\n")
	return b.String()
}

// node is a room's name as mermaid takes it.
func node(room string) string { return strings.NewReplacer("/", "_", "-", "_").Replace(room) }
