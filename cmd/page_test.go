package cmd_test

import (
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path"
	"regexp"
	"slices"
	"strings"
	"testing"
)

// What DEVELOPERS.md names in code quotes: a path of the repository, a name of
// a package.
var (
	pathNamed = regexp.MustCompile("`((?:cmd|checklist|records|schema|testdata|\\.ci)/[A-Za-z0-9_./*-]+)`")
	nameNamed = regexp.MustCompile("`([a-z]+)\\.([A-Z]\\w*(?:\\.[A-Z]\\w*)?)`")
)

// TestPageNamesWhatIsThere holds that each file, folder and function that
// DEVELOPERS.md names is there.
func TestPageNamesWhatIsThere(t *testing.T) {
	root := os.DirFS("..")
	text, err := fs.ReadFile(root, "DEVELOPERS.md")
	if err != nil {
		t.Fatal(err)
	}
	paths, names := pathNamed.FindAllStringSubmatch(string(text), -1), nameNamed.FindAllStringSubmatch(string(text), -1)
	if len(paths) < 20 || len(names) < 10 {
		t.Fatalf("found %d paths and %d names in DEVELOPERS.md", len(paths), len(names))
	}
	for _, p := range paths {
		if found, err := fs.Glob(root, strings.TrimSuffix(p[1], "/...")); err != nil || len(found) == 0 {
			t.Errorf("DEVELOPERS.md: %s: is not there", p[1])
		}
	}
	declared, err := declarations(root)
	if err != nil {
		t.Fatal(err)
	}
	for _, n := range names {
		if !slices.Contains(declared[n[1]], n[2]) {
			t.Errorf("DEVELOPERS.md: %s.%s: is not there", n[1], n[2])
		}
	}
}

// declarations are the names that each package declares, by the last element of
// its path; a method with its type before it.
func declarations(root fs.FS) (map[string][]string, error) {
	all, err := sources(root)
	if err != nil {
		return nil, err
	}
	out := map[string][]string{}
	for _, s := range all {
		text, err := fs.ReadFile(root, s.path)
		if err != nil {
			return nil, err
		}
		tree, err := parser.ParseFile(token.NewFileSet(), s.path, text, parser.SkipObjectResolution)
		if err != nil {
			return nil, err
		}
		name := path.Base(s.dir)
		for _, d := range tree.Decls {
			out[name] = append(out[name], declared(d)...)
		}
	}
	return out, nil
}

func declared(d ast.Decl) (names []string) {
	switch d := d.(type) {
	case *ast.FuncDecl:
		return []string{receiver(d) + d.Name.Name}
	case *ast.GenDecl:
		for _, s := range d.Specs {
			switch s := s.(type) {
			case *ast.TypeSpec:
				names = append(append(names, s.Name.Name), fieldsOf(s)...)
			case *ast.ValueSpec:
				for _, n := range s.Names {
					names = append(names, n.Name)
				}
			}
		}
	}
	return names
}

// fieldsOf are the fields of a struct, with its name before them.
func fieldsOf(s *ast.TypeSpec) (names []string) {
	if of, is := s.Type.(*ast.StructType); is {
		for _, f := range of.Fields.List {
			for _, n := range f.Names {
				names = append(names, s.Name.Name+"."+n.Name)
			}
		}
	}
	return names
}

// receiver is the type of a method and a dot.
func receiver(d *ast.FuncDecl) string {
	if d.Recv == nil {
		return ""
	}
	of := d.Recv.List[0].Type
	if star, is := of.(*ast.StarExpr); is {
		of = star.X
	}
	if generic, is := of.(*ast.IndexExpr); is {
		of = generic.X
	}
	if name, is := of.(*ast.Ident); is {
		return name.Name + "."
	}
	return ""
}
