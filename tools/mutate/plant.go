package main

import (
	"go/ast"
	"go/token"

	"golang.org/x/tools/go/ast/astutil"
)

var opposites = map[token.Token][]token.Token{
	token.LSS: {token.LEQ, token.GEQ}, token.LEQ: {token.LSS, token.GTR},
	token.GTR: {token.GEQ, token.LEQ}, token.GEQ: {token.GTR, token.LSS},
	token.EQL: {token.NEQ}, token.NEQ: {token.EQL},
}

var lighter = map[string]string{
	"OK": "Flag", "Note": "Flag", "Flag": "Note", "Unproven": "Flag", "Hold": "Flag", "Block": "Hold", "Stop": "Block",
}

// printing are the calls whose numbers are of the print only.
var printing = map[string]bool{"Format": true, "both": true, "Sprintf": true, "Fprintf": true, "Text": true, "TextIn": true, "Write": true, "worst": true}

// positions are the calls whose words are what voids a reading.
var positions = map[string]bool{"invalidated": true, "ChangedAfter": true, "lastPull": true}

// inside plants mutants in everything below a node, the innermost first.
func (m *mutation) inside(root ast.Node) {
	if root == nil {
		return
	}
	depth, quiet := 0, 0
	var words []bool
	astutil.Apply(root, func(c *astutil.Cursor) bool {
		switch n := c.Node().(type) {
		case *ast.FuncLit:
			depth++
		case *ast.CallExpr:
			words = append(words, positions[called(n)])
			if printing[called(n)] {
				quiet++
			}
		case *ast.CompositeLit:
			words = append(words, isStrings(n))
		case *ast.ImportSpec, *ast.CaseClause:
		}
		return true
	}, func(c *astutil.Cursor) bool {
		was := m.init
		m.init = m.init && depth == 0
		switch n := c.Node().(type) {
		case *ast.FuncLit:
			depth--
		case *ast.CallExpr:
			words = words[:len(words)-1]
			if printing[called(n)] {
				quiet--
			}
			m.extreme(c, n)
		case *ast.CompositeLit:
			words = words[:len(words)-1]
		case *ast.BinaryExpr:
			m.binary(c, n)
		case *ast.BasicLit:
			if quiet == 0 {
				m.literal(c, n, len(words) > 0 && words[len(words)-1])
			}
		case *ast.SelectorExpr:
			m.severity(c, n)
		case *ast.IfStmt:
			n.Cond = m.condition(n.Cond)
		}
		m.init = was
		return true
	})
}

func called(n *ast.CallExpr) string {
	switch f := n.Fun.(type) {
	case *ast.Ident:
		return f.Name
	case *ast.SelectorExpr:
		return f.Sel.Name
	}
	return ""
}

func isStrings(n *ast.CompositeLit) bool {
	a, ok := n.Type.(*ast.ArrayType)
	if !ok {
		return false
	}
	id, ok := a.Elt.(*ast.Ident)
	return ok && id.Name == "string"
}

func (m *mutation) binary(c *astutil.Cursor, n *ast.BinaryExpr) {
	if m.inConst || m.info.Types[n].Value != nil {
		return
	}
	x, y, whole := m.text(n.X), m.text(n.Y), m.text(n)
	switch {
	case n.Op == token.LAND || n.Op == token.LOR:
		id := m.add(n, whole, x, y)
		c.Replace(choose(id, "bool", whole, x, y))
	case len(opposites[n.Op]) > 0:
		var others []string
		for _, op := range opposites[n.Op] {
			others = append(others, "("+x+") "+op.String()+" ("+y+")")
		}
		id := m.add(n, whole, others...)
		c.Replace(choose(id, "bool", append([]string{whole}, others...)...))
	}
}

// condition turns a condition that is no comparison into its opposite.
func (m *mutation) condition(e ast.Expr) ast.Expr {
	if call, ok := e.(*ast.CallExpr); ok && called(call) == "mutant" {
		return e
	}
	text := m.text(e)
	id := m.add(e, text, "!("+text+")")
	return choose(id, "bool", text, "!("+text+")")
}

func (m *mutation) literal(c *astutil.Cursor, n *ast.BasicLit, word bool) {
	if n.Kind == token.STRING {
		if typ, ok := m.typeOf(n); word && ok && typ == "string" && !m.inConst {
			id := m.add(n, n.Value, `"-"`)
			c.Replace(choose(id, "string", n.Value, `"-"`))
		}
		return
	}
	other := otherNumber(n)
	if other == "" || n.Kind == token.CHAR {
		return
	}
	if m.inConst {
		p := m.fset.Position(n.Pos())
		m.add(n, n.Value, other)
		last := &m.mutants[len(m.mutants)-1]
		last.constant, last.Init, last.offset, last.length = true, false, p.Offset, len(n.Value)
		return
	}
	typ, ok := m.typeOf(n)
	if _, isIndex := c.Parent().(*ast.IndexExpr); !ok || isIndex {
		return
	}
	if _, isSlice := c.Parent().(*ast.SliceExpr); isSlice {
		return
	}
	id := m.add(n, n.Value, other)
	c.Replace(choose(id, typ, n.Value, other))
}

func (m *mutation) severity(c *astutil.Cursor, n *ast.SelectorExpr) {
	pkg, ok := n.X.(*ast.Ident)
	other, known := lighter[n.Sel.Name]
	if !ok || !known || pkg.Name != "schema" || m.inConst {
		return
	}
	if _, isCase := c.Parent().(*ast.CaseClause); isCase {
		return
	}
	id := m.add(n, m.text(n), "schema."+other)
	c.Replace(choose(id, "schema.Severity", "schema."+n.Sel.Name, "schema."+other))
}

// extreme swaps the smaller and the larger.
func (m *mutation) extreme(c *astutil.Cursor, n *ast.CallExpr) {
	name := called(n)
	swap := map[string]string{"min": "max", "max": "min"}[name]
	if _, plain := n.Fun.(*ast.Ident); swap == "" || !plain || m.inConst {
		return
	}
	typ, ok := m.typeOf(n)
	if !ok {
		return
	}
	whole := m.text(n)
	other := swap + whole[len(name):]
	id := m.add(n, whole, other)
	c.Replace(choose(id, typ, whole, other))
}
