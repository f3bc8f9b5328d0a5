package schemas

import (
	"fmt"
	"go/ast"
	"go/doc"
	"go/parser"
	"go/token"
	"maps"
	"path/filepath"
	"strings"
)

// comments are what the source says of the types of package schema and of
// their fields, by "Type" and "Type.Field": the meanings that the schemas and
// the data dictionary of an export carry.
type comments map[string]string

func readComments(folder string) (comments, error) {
	paths, err := filepath.Glob(filepath.Join(folder, "*.go"))
	if err != nil || len(paths) == 0 {
		return nil, fmt.Errorf("%s: holds no Go files: %w", folder, err)
	}
	found := comments{}
	for _, path := range paths {
		file, err := parser.ParseFile(token.NewFileSet(), path, nil, parser.ParseComments)
		if err != nil {
			return nil, err
		}
		for _, d := range file.Decls {
			if types, is := d.(*ast.GenDecl); is && types.Tok == token.TYPE {
				found.read(types)
			}
		}
	}
	return found, nil
}

func (c comments) read(types *ast.GenDecl) {
	for _, s := range types.Specs {
		t := s.(*ast.TypeSpec)
		fields, is := t.Type.(*ast.StructType)
		if !is {
			continue
		}
		about, _ := strings.CutPrefix(new(doc.Package).Synopsis(types.Doc.Text()), t.Name.Name+" ")
		c[t.Name.Name] = strings.TrimSuffix(strings.TrimPrefix(about, "is "), ".")
		for _, f := range fields.Fields.List {
			for _, name := range f.Names {
				c[t.Name.Name+"."+name.Name] = strings.TrimSpace(f.Comment.Text())
			}
		}
	}
}

// of is what is said of a type or a field. That nothing is said is an error of
// whoever added it.
func (c comments) of(name string) string {
	text := c[name]
	if text == "" {
		panic("schemas: " + name + " has no comment that says what it means")
	}
	return text
}

// described is a schema with its meaning; the schema itself may be shared.
func described(schema any, meaning string) any {
	out := maps.Clone(schema.(object))
	out["description"] = meaning
	return out
}
