package cmd

import (
	"encoding/json"
	"errors"
	"fmt"
	"go/ast"
	"go/importer"
	"go/parser"
	"go/token"
	"go/types"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

// folders may look into the entries of a record; everybody else asks what they
// fold to: package state, or for what was written, whatever became of it,
// state.Written.
var folders = []string{"schema", "records", "checklist/state", "cmd/dev"}

// TestOnlyStateFolds holds that no other package reads a record's entries by
// itself: a fact that was taken back would come back there.
func TestOnlyStateFolds(t *testing.T) {
	found, looked := 0, 0
	for _, p := range listed(t) {
		room := strings.TrimPrefix(p.ImportPath, "feedproof/")
		for _, use := range entriesRead(t, p) {
			looked++
			if !isFolder(room) {
				found++
				t.Errorf("%s: reads the entries of a record: ask state.Standing, state.Said or state.Written", use)
			}
		}
	}
	if looked == 0 {
		t.Error("nobody reads the entries of a record: the test looks past them")
	}
}

func isFolder(room string) bool {
	for _, f := range folders {
		if room == f || strings.HasPrefix(room, f+"/") {
			return true
		}
	}
	return false
}

type listedPackage struct {
	ImportPath, Dir, Export string
	GoFiles                 []string
}

var exports = map[string]string{} // import path -> compiled form

// listed are the packages of the product.
func listed(t *testing.T) []listedPackage {
	t.Helper()
	list := exec.Command("go", "list", "-export", "-deps", "-json=ImportPath,Dir,Export,GoFiles", "./...")
	list.Dir = ".."
	out, err := list.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := list.Start(); err != nil {
		t.Fatal(err)
	}
	var own []listedPackage
	for dec := json.NewDecoder(out); ; {
		var p listedPackage
		if err := dec.Decode(&p); errors.Is(err, io.EOF) {
			break
		} else if err != nil {
			t.Fatal(err)
		}
		exports[p.ImportPath] = p.Export
		if strings.HasPrefix(p.ImportPath, "feedproof/") && !strings.HasSuffix(p.ImportPath, "test") {
			own = append(own, p)
		}
	}
	if err := list.Wait(); err != nil {
		t.Fatal(err)
	}
	return own
}

// entriesRead are the places of a package that read the field Entries of a
// schema.Record.
func entriesRead(t *testing.T, p listedPackage) []string {
	t.Helper()
	set := token.NewFileSet()
	var files []*ast.File
	for _, name := range p.GoFiles {
		f, err := parser.ParseFile(set, filepath.Join(p.Dir, name), nil, 0)
		if err != nil {
			t.Fatal(err)
		}
		files = append(files, f)
	}
	known := types.Info{Selections: map[*ast.SelectorExpr]*types.Selection{}}
	config := types.Config{Importer: importer.ForCompiler(set, "gc", func(path string) (io.ReadCloser, error) {
		if exports[path] == "" {
			return nil, fmt.Errorf("%s: is not compiled", path)
		}
		return os.Open(exports[path])
	})}
	if _, err := config.Check(p.ImportPath, set, files, &known); err != nil {
		t.Fatalf("%s: %v", p.ImportPath, err)
	}
	var out []string
	for s, sel := range known.Selections {
		recv := strings.TrimPrefix(sel.Recv().String(), "*")
		if s.Sel.Name == "Entries" && recv == "feedproof/schema.Record" || recv == p.ImportPath+".Record" && p.ImportPath == "feedproof/schema" && s.Sel.Name == "Entries" {
			at := set.Position(s.Pos())
			rel, err := filepath.Rel(filepath.Dir(p.Dir), at.Filename)
			if err != nil {
				t.Fatal(err)
			}
			out = append(out, fmt.Sprintf("%s:%d", rel, at.Line))
		}
	}
	return out
}
