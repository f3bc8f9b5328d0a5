package mutate

import (
	"encoding/json"
	"fmt"
	"go/ast"
	"go/importer"
	"go/parser"
	"go/token"
	"go/types"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
)

// mutant is one change: alternative Alt at place ID.
type mutant struct {
	ID, Alt         int
	Place, Was, Now string
	Init            bool     // evaluated when the package is initialised
	Rules           []string // of its file; none: all
	constant        bool
	offset, length  int // of a constant's literal in its file
	file            string
}

type mutation struct {
	fset    *token.FileSet
	info    *types.Info
	files   map[string][]byte // path -> rewritten source
	sources map[string][]byte
	mutants []mutant
	path    string
	rules   []string
	init    bool
	next    int
}

// switched are the mutants that can be switched on in a running process.
func (m *mutation) switched() []mutant {
	var out []mutant
	for _, c := range m.mutants {
		if !c.Init && !c.constant {
			out = append(out, c)
		}
	}
	return out
}

var ruleID = regexp.MustCompile(`\tID: "([^"]+)", Title:`)

// rewrite plants the mutants into every file of the package that is wanted.
func rewrite(dir, only string) (*mutation, error) {
	m := &mutation{fset: token.NewFileSet(), files: map[string][]byte{}, sources: map[string][]byte{},
		info: &types.Info{Types: map[ast.Expr]types.TypeAndValue{}}}
	paths, err := filepath.Glob(filepath.Join(dir, "*.go"))
	if err != nil {
		return nil, err
	}
	var files []*ast.File
	var names []string
	for _, p := range paths {
		if strings.HasSuffix(p, "_test.go") {
			continue
		}
		if m.sources[p], err = os.ReadFile(p); err != nil {
			return nil, err
		}
		f, err := parser.ParseFile(m.fset, p, m.sources[p], 0)
		if err != nil {
			return nil, err
		}
		files, names = append(files, f), append(names, p)
	}
	conf := types.Config{Importer: importer.ForCompiler(m.fset, "source", nil)}
	if _, err := conf.Check("feedproof/"+dir, m.fset, files, m.info); err != nil {
		return nil, err
	}
	for i, f := range files {
		if !strings.Contains(filepath.Base(names[i]), only) {
			continue
		}
		m.path, m.rules = names[i], nil
		for _, id := range ruleID.FindAllSubmatch(m.sources[m.path], -1) {
			m.rules = append(m.rules, string(id[1]))
		}
		m.files[m.path] = m.plant(f, m.sources[m.path])
	}
	return m, nil
}

// overlay writes the rewritten files, or one source with one constant changed,
// and the list that go build takes.
func (m *mutation) overlay(dir string, constant *mutant) (string, error) {
	replace := map[string]string{}
	put := func(path string, text []byte) error {
		to := filepath.Join(dir, filepath.Base(path))
		abs, err := filepath.Abs(path)
		if err != nil {
			return err
		}
		replace[abs] = to
		return os.WriteFile(to, text, 0o600)
	}
	files := m.files
	if constant != nil {
		s := m.sources[constant.file]
		text := string(s[:constant.offset]) + constant.Now + string(s[constant.offset+constant.length:])
		files = map[string][]byte{constant.file: []byte(text)}
	}
	for path, text := range files {
		if err := put(path, text); err != nil {
			return "", err
		}
	}
	if err := put(filepath.Join(target, "mutant_switch.go"), []byte(switchSource)); err != nil {
		return "", err
	}
	text, err := json.Marshal(map[string]any{"Replace": replace})
	if err != nil {
		return "", err
	}
	name := filepath.Join(dir, "overlay.json")
	return name, os.WriteFile(name, text, 0o600)
}

// switchSource is added to the package: which mutant is on.
const switchSource = `package rules

import (
	"fmt"
	"os"
)

var mutantID, mutantAlt = mutantFromEnvironment()

func mutantFromEnvironment() (id, alt int) {
	fmt.Sscanf(os.Getenv("FEEDPROOF_MUTANT"), "%d:%d", &id, &alt)
	return id, alt
}

// SetMutant switches one change on; 0 none.
func SetMutant(id, alt int) { mutantID, mutantAlt = id, alt }

func mutant[T any](id int, is ...func() T) T {
	if id == mutantID {
		return is[mutantAlt]()
	}
	return is[0]()
}
`

// add notes the alternatives of a place and returns its id.
func (m *mutation) add(at ast.Node, was string, now ...string) int {
	m.next++
	p := m.fset.Position(at.Pos())
	for i, n := range now {
		m.mutants = append(m.mutants, mutant{ID: m.next, Alt: i + 1, Was: was, Now: n, Init: m.init, Rules: m.rules,
			Place: fmt.Sprintf("%s:%d", filepath.Base(p.Filename), p.Line), file: m.path})
	}
	return m.next
}

// constant notes a number of a constant, which is compiled alone.
func (m *mutation) constant(n *ast.BasicLit, other string, offset int) {
	m.add(n, n.Value, other)
	last := &m.mutants[len(m.mutants)-1]
	last.constant, last.Init, last.offset, last.length = true, false, offset, len(n.Value)
}

func (m *mutation) typeOf(e ast.Expr) (string, bool) {
	t := m.info.Types[e].Type
	if t == nil {
		return "", false
	}
	if b, ok := t.(*types.Basic); ok && b.Info()&types.IsUntyped != 0 {
		t = types.Default(t)
	}
	name := types.TypeString(t, func(p *types.Package) string {
		if p.Path() == "feedproof/"+target {
			return ""
		}
		return p.Name()
	})
	pkg, _, qualified := strings.Cut(name, ".")
	return name, !qualified || strings.Contains(string(m.sources[m.path]), "/"+pkg+`"`) || strings.Contains(string(m.sources[m.path]), `"`+pkg+`"`)
}

// otherDefault is what an unknown value is taken for instead: a step away from
// nothing is nothing, and there is no more than all.
func otherDefault(lit *ast.BasicLit) string {
	if lit.Value == "0" {
		return "1e9"
	}
	return "0"
}

// otherNumber is a number a step away.
func otherNumber(lit *ast.BasicLit) string {
	if lit.Kind == token.INT {
		if n, err := strconv.Atoi(lit.Value); err == nil {
			return strconv.Itoa(n + 1)
		}
	}
	if f, err := strconv.ParseFloat(lit.Value, 64); err == nil {
		return strconv.FormatFloat(f*1.02+1e-9, 'f', -1, 64)
	}
	return ""
}
