package cli

import (
	"go/ast"
	"go/parser"
	"go/token"
	"path/filepath"
	"strings"
	"testing"
)

// Every function that makes a command is called, so that the command is in the
// program.
func TestEveryCommandIsListed(t *testing.T) {
	files, err := filepath.Glob("*.go")
	if err != nil {
		t.Fatal(err)
	}
	makes, named := map[string]string{}, map[string]int{}
	for _, name := range files {
		if strings.HasSuffix(name, "_test.go") {
			continue
		}
		tree, err := parser.ParseFile(token.NewFileSet(), name, nil, 0)
		if err != nil {
			t.Fatal(err)
		}
		ast.Inspect(tree, func(n ast.Node) bool {
			switch n := n.(type) {
			case *ast.FuncDecl:
				if makesCommand(n) {
					makes[n.Name.Name] = name
				}
			case *ast.Ident:
				named[n.Name]++
			}
			return true
		})
	}
	if len(makes) < 30 {
		t.Fatalf("only %d functions make a command", len(makes))
	}
	for f, file := range makes {
		if named[f] < 2 {
			t.Errorf("%s: %s: its command is not in the list of addCommands", file, f)
		}
	}
}

func makesCommand(f *ast.FuncDecl) bool {
	results := f.Type.Results
	if results == nil || len(results.List) != 1 {
		return false
	}
	star, is := results.List[0].Type.(*ast.StarExpr)
	if !is {
		return false
	}
	of, is := star.X.(*ast.SelectorExpr)
	return is && of.Sel.Name == "Command" && strings.HasSuffix(f.Name.Name, "Command")
}
