package cmd_test

import (
	"bytes"
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path"
	"slices"
	"strconv"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/google/go-cmp/cmp"
)

// This is the import order. It is policy: change it together with
// DEVELOPERS.md, and not to make a build pass.

const module = "feedproof"

// place is where a package stands: what of this module it may import, and why
// so. A pattern that ends in "/..." means the folder and all below it.
type place struct {
	packages string
	may      []string
	why      string
}

var order = []place{
	{"cmd", nil, "holds this test alone"},
	{"cmd/feedproof", []string{"cmd/internal/cli", "cmd/dev/invent"}, "main hands over arguments and exits with a code; all else is importable and tested"},
	{"cmd/dev", []string{"cmd/dev/tool"}, "a program for developers; all else is importable and tested"},
	{"cmd/dev/tool", []string{"cmd/dev/bench", "cmd/dev/examples", "cmd/dev/growth", "cmd/dev/house", "cmd/dev/invent", "cmd/dev/manual", "cmd/dev/mutate", "cmd/dev/release", "cmd/dev/schemas"}, "picks the tool that the first argument names"},
	{"cmd/dev/bench", nil, "measures the program from outside"},
	{"cmd/dev/examples", []string{"records/signature", "schema"}, "signs the example records, which are of no shop"},
	{"cmd/dev/growth", nil, "measures the program from outside, on shops of several sizes"},
	{"cmd/dev/house", nil, "draws the packages from their import lines"},
	{"cmd/dev/invent", []string{"records/...", "schema", "schema/quantity"}, "makes a shop as a shop would: through the public functions of records"},
	{"cmd/dev/manual", []string{"cmd/internal/cli"}, "writes down what the commands say of themselves"},
	{"cmd/dev/mutate", nil, "breaks copies of the rules and runs their tests"},
	{"cmd/dev/release", nil, "builds the program from outside and packs it"},
	{"cmd/dev/schemas", []string{"schema", "schema/quantity"}, "writes the JSON Schemas from the types"},
	{"cmd/internal/cli", []string{"cmd/internal/desk", "cmd/internal/desktest", "cmd/internal/terminal", "cmd/internal/facts", "cmd/internal/guide", "cmd/internal/page", "cmd/internal/sheets", "cmd/internal/language", "cmd/internal/facts/chart", "cmd/internal/export", "records", "records/signature", "checklist/...", "schema/..."},
		"flags in, a run function on a desk, text out; makes, joins and exports shops"},
	{"cmd/internal/desk", []string{"cmd/internal/facts", "cmd/internal/index", "records", "records/signature", "records/photo", "checklist", "checklist/audit", "checklist/past", "checklist/procedures", "checklist/state", "schema", "schema/places", "schema/quantity"},
		"the only place that joins records to checklist; one view of the shop for every face, so it knows none"},
	{"cmd/internal/desktest", []string{"cmd/internal/desk", "records", "records/signature", "schema", "schema/quantity"}, "makes a small shop for tests, through the desk"},
	{"cmd/internal/guide", []string{"cmd/internal/desk", "cmd/internal/facts", "cmd/internal/language", "checklist/...", "schema/..."},
		"what the guided mode shows and what its keys do; reads and writes through the bench that a desk hands it, and knows no screen"},
	{"cmd/internal/page", []string{"cmd/internal/desk", "cmd/internal/desktest", "cmd/internal/facts", "cmd/internal/guide", "cmd/internal/language", "checklist", "schema"},
		"shows the guide to a browser and hands its answers on; who is at it and what comes in is held here, and no rule"},
	{"cmd/internal/sheets", []string{"cmd/internal/facts", "cmd/internal/facts/chart", "cmd/internal/language", "cmd/internal/visible", "checklist/...", "schema/..."},
		"pure: an assessment in, a sheet as Markdown or HTML out"},
	{"cmd/internal/language", nil, "texts; knows nobody who says them"},
	{"cmd/internal/terminal", []string{"cmd/internal/guide", "cmd/internal/facts", "cmd/internal/visible", "schema"}, "draws the findings and the pages of the guide that it is handed; knows no store and no rule"},
	{"cmd/internal/export", []string{"cmd/internal/visible", "schema", "schema/quantity"}, "writes the records it is handed as plain tables, with the unit table; reads no store"},
	{"cmd/internal/index", []string{"records/...", "schema"}, "keeps what it is told to gather from records; knows no rule and no question"},
	{"cmd/internal/facts", []string{"cmd/internal/facts/chart", "checklist/...", "schema/..."}, "pure: record and findings in, text out; reads no store"},
	{"cmd/internal/visible", nil, "what was typed as text, wherever it leaves"},
	{"cmd/internal/facts/chart", []string{"cmd/internal/visible"}, "draws plain numbers; knows neither record nor quantity"},

	{"checklist", []string{"checklist/state", "checklist/datalog", "checklist/datalogtest", "checklist/fuel/...", "checklist/planning", "checklist/procedures", "checklist/rules", "schema/..."}, "pure: judges a record whatever store it came from"},
	{"checklist/audit", []string{"checklist", "checklist/past", "checklist/planning", "checklist/state", "checklist/procedures", "checklist/fuel", "schema", "schema/places", "schema/quantity"},
		"answers questions over all records; a source hands them over"},
	{"checklist/past", []string{"checklist/state", "checklist/procedures", "schema", "schema/quantity"}, "one car through the years; judges nothing"},
	{"checklist/rules", []string{"checklist/past", "checklist/planning", "checklist/state", "checklist/procedures", "checklist/datalog", "checklist/fittings", "checklist/fuel/...", "schema/..."},
		"a rule sees the folded car and the physics, never a store"},
	{"checklist/fittings", []string{"schema/quantity"}, "tables of ends, threads, hoses, seals and torque; knows no car, so that it can be checked alone"},
	{"checklist/planning", []string{"checklist/state", "checklist/fuel/...", "schema", "schema/quantity"}, "turns what a car is said to be into what the physics takes"},
	{"checklist/state", []string{"checklist/procedures", "schema", "schema/places", "schema/quantity"}, "folds a record; judges nothing"},
	{"checklist/procedures", []string{"schema", "schema/quantity"}, "data; adding a procedure needs no code"},
	{"checklist/datalog", []string{"schema/quantity"}, "computes from a log; knows no record, so that its numbers can be checked alone"},
	{"checklist/datalogtest", []string{"checklist/fuel", "schema/quantity"}, "invents logs from the physics; knows no reader, so that its tests can use it"},
	{"checklist/fuel", []string{"checklist/fuel/network", "schema/quantity"}, "physics; knows no record, so that it can be checked against handbooks"},
	{"checklist/fuel/network", []string{"schema/quantity"}, "the hydraulic solver, which the rest of the physics asks"},
	{"checklist/fuel/crosscheck", []string{"checklist/fuel/...", "schema/quantity"}, "tests alone: compares the solver with another, whose networks it reads"},

	{"records", []string{"records/...", "schema"}, "stores and proves; takes its judge as a function and never knows checklist"},
	{"records/signature", []string{"schema"}, "signs bytes and folds the roster; knows no store"},
	{"records/photo", nil, "makes a working copy of a photo; knows no record and no store"},
	{"records/internal/gitfs", nil, "a file system; knows no record"},
	{"records/internal/packs", []string{"records/internal/gitfs"}, "reads git's packs; knows no record"},
	{"records/internal/gitfstest", []string{"records/internal/gitfs"}, "breaks that file system on purpose"},

	{"schema/places", []string{"schema"}, "the table of places and joints; knows no car"},
	{"schema", []string{"schema/code", "schema/quantity"}, "the form on disk, below everything that reads or writes it"},
	{"schema/quantity", nil, "the bottom: numbers with units"},
	{"schema/code", nil, "the bottom: words that answers and translations go by"},
}

// library is a module from outside and its owners, who may import it: one,
// unless its types stand in the functions that two of ours share. Without an
// owner it is for tests.
type library struct {
	prefix string
	owners []string
	why    string
}

var libraries = []library{
	{"github.com/spf13/cobra", []string{"cmd/internal/cli", "cmd/dev/manual"}, "commands parse, call and print in one place, and their reference is written from them"},
	{"github.com/spf13/pflag", []string{"cmd/internal/cli"}, "cobra's flags"},
	{"github.com/yuin/goldmark", []string{"cmd/internal/sheets", "cmd/internal/terminal"}, "sheets become HTML in one place; the tests of terminal hold glamour against it"},
	{"charm.land/bubbletea", []string{"cmd/internal/terminal"}, "only terminal knows whether there is a terminal"},
	{"github.com/charmbracelet/x/vt", nil, "what such a terminal shows"},
	{"github.com/charmbracelet", []string{"cmd/internal/terminal"}, "only terminal knows whether there is a terminal"},
	{"golang.org/x/term", []string{"cmd/internal/terminal"}, "only terminal knows whether there is a terminal"},
	{"gonum.org/v1/gonum", []string{"checklist/..."}, "numerics"},
	{"github.com/santhosh-tekuri/jsonschema", []string{"schema"}, "a record is validated in one place"},
	{"github.com/gowebpki/jcs", []string{"schema"}, "a record has one canonical form"},
	{"github.com/go-json-experiment/json", []string{"schema", "checklist/audit"}, "what was validated before is read fast: entries in schema, facts in audit"},
	{"github.com/oklog/ulid", []string{"schema"}, "ids are made in one place"},
	{"github.com/go-git/go-git", []string{"records/..."}, "nobody else knows that the store is git"},
	{"github.com/go-git/go-billy", []string{"records/..."}, "nobody else knows that the store is git"},
	{"go.etcd.io/bbolt", []string{"cmd/internal/index"}, "only index knows how facts are kept"},
	{"github.com/gofrs/flock", []string{"records", "cmd/feedproof"}, "one lock; the scripts play another process that holds it"},
	{"github.com/hiddeco/sshsig", []string{"records/signature"}, "signatures are made and checked in one place"},
	{"golang.org/x/crypto/ssh", []string{"records/...", "cmd/internal/desk", "cmd/internal/cli", "cmd/internal/desktest", "cmd/internal/index", "cmd/dev/invent", "cmd/dev/examples"}, "keys; who holds one hands it to records"},
	{"github.com/klauspost/compress", []string{"checklist/datalog", "cmd/internal/index", "records/internal/packs"}, "logs are read packed too, kept facts are packed, and packs are unpacked faster"},
	{"github.com/bep/imagemeta", []string{"records/photo"}, "photos are turned upright in one place"},
	{"golang.org/x/image", []string{"records/photo"}, "photos are made small in one place"},
	{"golang.org/x/text", []string{"checklist/datalog"}, "logs come in several encodings"},
	{"golang.org/x/sys", []string{"records/internal/gitfs"}, "durable writes"},
	{"net/http", []string{"cmd/internal/page", "records"}, "browsers are answered in one place, and the tests of records play a git server; the desk knows no network"},
	{"github.com/google/licensecheck", []string{"cmd/dev/release"}, "what is linked has a licence that may be handed on"},
	{"github.com/chromedp", nil, "sheets are looked at in a browser"},
	{"github.com/creack/pty", nil, "a terminal for the program under test"},
	{"github.com/rogpeppe/go-internal", nil, "scripts that run the program"},
	{"pgregory.net/rapid", nil, "laws over drawn values"},
	{"github.com/google/go-cmp", nil, "whole values compared"},
}

// maxMainLines keeps main to build info in and exit code out.
const maxMainLines = 19

func TestLayout(t *testing.T) {
	complaints, packages := check(os.DirFS(".."))
	for _, c := range complaints {
		t.Error(c)
	}
	if !slices.Contains(packages, "schema/quantity") {
		t.Errorf("found the packages %v: this is not the module", packages)
	}
}

// source is one parsed Go file.
type source struct {
	path, dir string
	lines     int
	tree      *ast.File
}

func (s source) isTest() bool { return strings.HasSuffix(s.path, "_test.go") }

func (s source) imports() []string {
	var out []string
	for _, spec := range s.tree.Imports {
		p, err := strconv.Unquote(spec.Path.Value)
		if err == nil {
			out = append(out, p)
		}
	}
	return out
}

// check holds a module to the policy above: what is wrong, and the packages found.
func check(root fs.FS) (complaints, packages []string) {
	files, err := sources(root)
	if err != nil {
		return []string{err.Error()}, nil
	}
	if len(files) == 0 {
		return []string{"no Go file found"}, nil
	}
	byDir := map[string][]source{}
	for _, f := range files {
		byDir[f.dir] = append(byDir[f.dir], f)
		complaints = append(complaints, importComplaints(f)...)
		if path.Base(f.path) == "main.go" && strings.HasPrefix(f.path, "cmd/") && f.lines > maxMainLines {
			complaints = append(complaints, fmt.Sprintf("%s: %d lines, at most %d: move them to cmd/internal/cli", f.path, f.lines, maxMainLines))
		}
	}
	for dir, files := range byDir {
		packages = append(packages, dir)
		complaints = append(complaints, packageComplaints(dir, files)...)
	}
	complaints = append(complaints, moduleComplaints(root)...)
	slices.Sort(complaints)
	slices.Sort(packages)
	return complaints, packages
}

// sources parses every Go file that go build would see. It is done in this
// process so that the test cache knows which files decided.
func sources(root fs.FS) ([]source, error) {
	var out []source
	err := fs.WalkDir(root, ".", func(p string, entry fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		name := entry.Name()
		if entry.IsDir() && p != "." && (name == "testdata" || name == "node_modules" || strings.HasPrefix(name, ".") || strings.HasPrefix(name, "_")) {
			return fs.SkipDir
		}
		if entry.IsDir() || path.Ext(p) != ".go" {
			return nil
		}
		text, err := fs.ReadFile(root, p)
		if err != nil {
			return err
		}
		tree, err := parser.ParseFile(token.NewFileSet(), p, text, parser.ImportsOnly|parser.ParseComments)
		if err != nil {
			return err
		}
		out = append(out, source{p, path.Dir(p), bytes.Count(text, []byte("\n")), tree})
		return nil
	})
	return out, err
}

func importComplaints(f source) []string {
	at := slices.IndexFunc(order, func(p place) bool { return p.packages == f.dir })
	if at < 0 {
		return []string{f.path + ": its package has no place in the import order: give it one in cmd/layout_test.go"}
	}
	var out []string
	for _, p := range f.imports() {
		own, isOwn := strings.CutPrefix(p, module+"/")
		switch {
		case isOwn && f.isTest() && own == f.dir+"test": // the helpers of its tests
		case isOwn && own != f.dir && !slices.ContainsFunc(order[at].may, func(m string) bool { return matches(m, own) }):
			out = append(out, fmt.Sprintf("%s: may not import %s: %s %s", f.path, own, f.dir, order[at].why))
		case p == "testing" && !f.isTest() && !strings.HasSuffix(f.dir, "test"):
			out = append(out, f.path+": imports testing into the product: put test helpers into a package whose name ends in test")
		case !isOwn && isOutside(p):
			out = append(out, libraryComplaints(f, p)...)
		}
	}
	return out
}

func libraryComplaints(f source, imported string) []string {
	at := slices.IndexFunc(libraries, func(l library) bool { return matches(l.prefix+"/...", imported) })
	if at < 0 {
		return []string{fmt.Sprintf("%s: %s has no owner: give it one in cmd/layout_test.go and its reason in DEVELOPERS.md", f.path, imported)}
	}
	l := libraries[at]
	owner := strings.Join(l.owners, " and ")
	switch {
	case slices.ContainsFunc(l.owners, func(o string) bool { return matches(o, f.dir) }):
		return nil
	case l.owners == nil && f.isTest():
		return nil
	case l.owners == nil:
		owner = "tests"
	}
	return []string{fmt.Sprintf("%s: may not import %s, which belongs to %s: %s", f.path, imported, owner, l.why)}
}

// isOutside reports that an import path is no standard library's, whose first
// element has no dot, or that it leads outside.
func isOutside(p string) bool {
	first, _, _ := strings.Cut(p, "/")
	return strings.Contains(first, ".") || p == "net/http"
}

func matches(pattern, p string) bool {
	if tree, ok := strings.CutSuffix(pattern, "/..."); ok {
		return p == tree || strings.HasPrefix(p, tree+"/")
	}
	return p == pattern
}

// packageComplaints holds each package to one package comment, which is about it.
func packageComplaints(dir string, files []source) []string {
	var commented []string
	code := 0
	var out []string
	for _, f := range files {
		if f.isTest() {
			continue
		}
		code++
		if f.tree.Doc == nil {
			continue
		}
		commented = append(commented, f.path)
		want := "Package " + f.tree.Name.Name + " "
		if f.tree.Name.Name == "main" {
			want = "Command " + path.Base(dir) + " "
		}
		if text := f.tree.Doc.Text(); !strings.HasPrefix(text, want) {
			out = append(out, fmt.Sprintf("%s: the package comment should begin %q", f.path, want))
		}
	}
	if code > 0 && len(commented) != 1 {
		slices.Sort(commented)
		out = append(out, fmt.Sprintf("%s: %d package comments %v, want one", dir, len(commented), commented))
	}
	return out
}

func moduleComplaints(root fs.FS) []string {
	text, err := fs.ReadFile(root, "go.mod")
	if err != nil {
		return []string{err.Error()}
	}
	var out []string
	for line := range strings.Lines(string(text)) {
		if words := strings.Fields(line); len(words) > 0 && words[0] == "replace" {
			out = append(out, "go.mod: replace: others could not build this module")
		}
	}
	return out
}

// TestLayoutNotices holds that each part of the policy can fail.
func TestLayoutNotices(t *testing.T) {
	file := func(text string) *fstest.MapFile { return &fstest.MapFile{Data: []byte(text)} }
	good := func() fstest.MapFS {
		return fstest.MapFS{
			"go.mod":            file("module feedproof\n"),
			"schema/schema.go":  file("// Package schema is the form.\npackage schema\n\nimport _ \"feedproof/schema/quantity\"\n"),
			"testdata/other.go": file("package other\n\nimport _ \"feedproof/cmd\"\n"),
		}
	}
	tests := []struct {
		name, path, text string
		want             []string
	}{
		{"nothing wrong", "schema/quantity/q.go", "// Package quantity has units.\npackage quantity\n\nimport _ \"math\"\n", nil},
		{"import against the order", "records/r.go", "// Package records keeps.\npackage records\n\nimport _ \"feedproof/checklist\"\n",
			[]string{"records/r.go: may not import checklist: records stores and proves; takes its judge as a function and never knows checklist"}},
		{"the same in a test", "records/r_test.go", "package records\n\nimport _ \"feedproof/checklist\"\n",
			[]string{"records/r_test.go: may not import checklist: records stores and proves; takes its judge as a function and never knows checklist"}},
		{"test helpers in a test", "schema/s_test.go", "package schema\n\nimport _ \"feedproof/schematest\"\n", nil},
		{"test helpers in the product", "schema/s.go", "package schema\n\nimport _ \"feedproof/schematest\"\n",
			[]string{"schema/s.go: may not import schematest: schema the form on disk, below everything that reads or writes it"}},
		{"library of another", "records/r.go", "// Package records keeps.\npackage records\n\nimport _ \"github.com/spf13/cobra\"\n",
			[]string{"records/r.go: may not import github.com/spf13/cobra, which belongs to cmd/internal/cli and cmd/dev/manual: commands parse, call and print in one place, and their reference is written from them"}},
		{"part of a library of another", "schema/s.go", "package schema\n\nimport _ \"github.com/go-git/go-git/v5/plumbing\"\n",
			[]string{"schema/s.go: may not import github.com/go-git/go-git/v5/plumbing, which belongs to records/...: nobody else knows that the store is git"}},
		{"library of nobody", "schema/s.go", "package schema\n\nimport _ \"example.org/units\"\n",
			[]string{"schema/s.go: example.org/units has no owner: give it one in cmd/layout_test.go and its reason in DEVELOPERS.md"}},
		{"test library in the product", "schema/s.go", "package schema\n\nimport _ \"pgregory.net/rapid\"\n",
			[]string{"schema/s.go: may not import pgregory.net/rapid, which belongs to tests: laws over drawn values"}},
		{"testing in the product", "schema/s.go", "package schema\n\nimport _ \"testing\"\n",
			[]string{"schema/s.go: imports testing into the product: put test helpers into a package whose name ends in test"}},
		{"package without a place", "misc/m.go", "// Package misc is all the rest.\npackage misc\n",
			[]string{"misc/m.go: its package has no place in the import order: give it one in cmd/layout_test.go"}},
		{"no package comment", "schema/quantity/m.go", "package quantity\n", []string{"schema/quantity: 0 package comments [], want one"}},
		{"two package comments", "schema/s.go", "// Package schema again.\npackage schema\n",
			[]string{"schema: 2 package comments [schema/s.go schema/schema.go], want one"}},
		{"a licence for a package comment", "schema/quantity/m.go", "// Copyright somebody.\npackage quantity\n",
			[]string{`schema/quantity/m.go: the package comment should begin "Package quantity "`}},
		{"long main", "cmd/feedproof/main.go", "// Command feedproof is it.\npackage main\n" + strings.Repeat("\n", 18),
			[]string{"cmd/feedproof/main.go: 20 lines, at most 19: move them to cmd/internal/cli"}},
		{"replace", "go.mod", "module feedproof\n\nreplace example.org/x => ../x\n", []string{"go.mod: replace: others could not build this module"}},
		{"replace in a block", "go.mod", "module feedproof\n\nreplace (\n)\n", []string{"go.mod: replace: others could not build this module"}},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			root := good()
			root[test.path] = file(test.text)
			got, _ := check(root)
			if diff := cmp.Diff(test.want, got); diff != "" {
				t.Errorf("(-want +got):\n%s", diff)
			}
		})
	}
	if got, _ := check(fstest.MapFS{}); len(got) != 1 || got[0] != "no Go file found" {
		t.Errorf("an empty folder gives %q", got)
	}
}

// TestOrderIsOne holds that the policy itself has no place twice, and no
// two places that may import each other.
func TestOrderIsOne(t *testing.T) {
	below := map[string]int{}
	for i, p := range order {
		if _, twice := below[p.packages]; twice {
			t.Errorf("%s stands twice", p.packages)
		}
		if p.why == "" {
			t.Errorf("%s has no reason", p.packages)
		}
		below[p.packages] = i
	}
	for i, p := range order {
		for j, other := range order {
			if j <= i && p.packages != other.packages && slices.ContainsFunc(p.may, func(m string) bool { return matches(m, other.packages) }) &&
				slices.ContainsFunc(other.may, func(m string) bool { return matches(m, p.packages) }) {
				t.Errorf("%s and %s may import each other", p.packages, other.packages)
			}
		}
	}
}
