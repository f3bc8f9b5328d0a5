package mutate

import (
	"fmt"
	"go/ast"
	"go/token"
	"slices"
	"strings"
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
var printing = []string{"Format", "both", "Sprintf", "Fprintf", "Text", "TextIn", "Write", "worst", "overall"}

// positions are the calls whose words say what voids a reading.
var positions = []string{"invalidated", "ChangedAfter", "lastPull"}

// place is an expression with its alternatives, the original first. The texts
// are made when all places inside it are known.
type place struct {
	start, end int
	typ        string
	is         func(p *planter) []string
}

// planter plants the mutants of one file by splicing its text.
type planter struct {
	m      *mutation
	source []byte
	places []place
}

func (m *mutation) plant(f *ast.File, source []byte) []byte {
	p := &planter{m: m, source: source}
	for _, d := range f.Decls {
		p.declaration(d)
	}
	slices.SortStableFunc(p.places, func(a, b place) int {
		if a.start != b.start {
			return a.start - b.start
		}
		return b.end - a.end
	})
	return []byte(p.text(0, len(source), 0))
}

func (p *planter) declaration(d ast.Decl) {
	var stack []ast.Node
	gen, general := d.(*ast.GenDecl)
	if general && gen.Tok != token.VAR && gen.Tok != token.CONST {
		return
	}
	ast.Inspect(d, func(n ast.Node) bool {
		if n == nil {
			stack = stack[:len(stack)-1]
			return true
		}
		inFunc := !general || slices.ContainsFunc(stack, isFunc)
		p.node(n, stack, !inFunc, general && gen.Tok == token.CONST)
		stack = append(stack, n)
		return true
	})
}

func isFunc(n ast.Node) bool { _, ok := n.(*ast.FuncLit); return ok }

func (p *planter) node(n ast.Node, stack []ast.Node, init, constant bool) {
	p.m.init = init
	switch n := n.(type) {
	case *ast.BasicLit:
		p.literal(n, stack, constant)
	case *ast.BinaryExpr:
		if !constant && p.m.info.Types[n].Value == nil {
			p.binary(n)
		}
	case *ast.SelectorExpr:
		p.severity(n, stack)
	case *ast.CallExpr:
		p.extreme(n)
	case *ast.IfStmt:
		if _, twice := n.Cond.(*ast.BinaryExpr); !twice {
			p.add(n.Cond, "bool", func(p *planter) []string {
				c := p.of(n.Cond, 1)
				return []string{c, "!(" + c + ")"}
			}, "!("+p.plain(n.Cond)+")")
		}
	}
}

func (p *planter) offset(pos token.Pos) int { return p.m.fset.Position(pos).Offset }

// plain is a node as it was written.
func (p *planter) plain(n ast.Node) string {
	return string(p.source[p.offset(n.Pos()):p.offset(n.End())])
}

// of is the text of a node with the places inside it planted; skip leaves out
// places that are the node itself.
func (p *planter) of(n ast.Node, skip int) string {
	return p.text(p.offset(n.Pos()), p.offset(n.End()), skip)
}

func (p *planter) text(start, end, skip int) string {
	var b strings.Builder
	at := start
	for _, q := range p.places {
		if q.start < at || q.end > end {
			continue
		}
		if skip > 0 && q.start == start && q.end == end {
			skip--
			continue
		}
		b.Write(p.source[at:q.start])
		b.WriteString("mutant" + q.typ)
		for _, is := range q.is(p) {
			fmt.Fprintf(&b, ", func() %s { return %s }", q.typ[strings.Index(q.typ, "[")+1:strings.LastIndex(q.typ, "](")], is)
		}
		b.WriteString(")")
		at = q.end
	}
	b.Write(p.source[at:end])
	return b.String()
}

// add notes a place and lists its alternatives.
func (p *planter) add(n ast.Node, typ string, is func(*planter) []string, now ...string) {
	id := p.m.add(n, p.plain(n), now...)
	p.places = append(p.places, place{p.offset(n.Pos()), p.offset(n.End()), fmt.Sprintf("[%s](%d", typ, id), is})
}

func (p *planter) binary(n *ast.BinaryExpr) {
	whole := func(p *planter, op token.Token) string { return p.of(n.X, 0) + " " + op.String() + " " + p.of(n.Y, 0) }
	if n.Op == token.LAND || n.Op == token.LOR {
		p.add(n, "bool", func(p *planter) []string {
			return []string{whole(p, n.Op), p.of(n.X, 0), p.of(n.Y, 0)}
		}, p.plain(n.X), p.plain(n.Y))
		return
	}
	others := opposites[n.Op]
	if called(n.X) == "Order" && len(others) > 1 {
		others = others[1:] // two entries are never equal: with or without the equals sign is the same
	}
	if n.Op == token.GTR && p.plain(n.Y) == "schema.OK" {
		others = others[1:] // a finding of OK says nothing: with it or without is the same
	}
	if len(others) == 0 {
		return
	}
	var now []string
	for _, op := range others {
		now = append(now, p.plain(n.X)+" "+op.String()+" "+p.plain(n.Y))
	}
	p.add(n, "bool", func(p *planter) []string {
		out := []string{whole(p, n.Op)}
		for _, op := range others {
			out = append(out, whole(p, op))
		}
		return out
	}, now...)
}

func called(n ast.Node) string {
	call, ok := n.(*ast.CallExpr)
	if !ok {
		return ""
	}
	switch f := call.Fun.(type) {
	case *ast.Ident:
		return f.Name
	case *ast.SelectorExpr:
		return f.Sel.Name
	}
	return ""
}

func isStrings(n ast.Node) bool {
	c, ok := n.(*ast.CompositeLit)
	if !ok {
		return false
	}
	a, ok := c.Type.(*ast.ArrayType)
	if !ok {
		return false
	}
	id, ok := a.Elt.(*ast.Ident)
	return ok && id.Name == "string"
}

func (p *planter) literal(n *ast.BasicLit, stack []ast.Node, constant bool) {
	parent := stack[len(stack)-1]
	if n.Kind == token.STRING {
		if isStrings(parent) || slices.Contains(positions, called(parent)) {
			p.simple(n, "string", `"-"`)
		}
		return
	}
	other := otherNumber(n)
	if called(parent) == "Or" {
		other = otherDefault(n)
	}
	_, index := parent.(*ast.IndexExpr)
	_, slice := parent.(*ast.SliceExpr)
	if other == "" || index || slice || meaningless(n, parent) || slices.ContainsFunc(stack, func(a ast.Node) bool { return slices.Contains(printing, called(a)) }) {
		return
	}
	if constant {
		p.m.constant(n, other, p.offset(n.Pos()))
		return
	}
	if typ, ok := p.m.typeOf(n); ok {
		p.simple(n, typ, other)
	}
}

// meaningless numbers change nothing: the 0 an order is compared with, which is
// -1, 0 or 1, the bits of a parser, the sign of an infinity, and the 0 under which nothing falls, of
// which one pascal more is as good (whether it matters shows when smaller and
// larger are swapped).
func meaningless(n *ast.BasicLit, parent ast.Node) bool {
	b, compared := parent.(*ast.BinaryExpr)
	return compared && called(b.X) == "Order" && b.Y == ast.Expr(n) || slices.Contains([]string{"ParseFloat", "Inf"}, called(parent)) || slices.Contains([]string{"max", "min"}, called(parent)) && n.Value == "0" || besideFalse(parent)
}

// besideFalse is a return of nothing, or of an error, whose number nobody looks
// at.
func besideFalse(n ast.Node) bool {
	r, ok := n.(*ast.ReturnStmt)
	if !ok {
		return false
	}
	id, ok := r.Results[len(r.Results)-1].(*ast.Ident)
	return ok && (id.Name == "false" || id.Name == "err")
}

// simple is a place with one alternative and nothing inside.
func (p *planter) simple(n ast.Node, typ, other string) {
	p.add(n, typ, func(p *planter) []string { return []string{p.plain(n), other} }, other)
}

func (p *planter) severity(n *ast.SelectorExpr, stack []ast.Node) {
	pkg, ok := n.X.(*ast.Ident)
	other, known := lighter[n.Sel.Name]
	if _, isCase := stack[len(stack)-1].(*ast.CaseClause); !ok || !known || isCase || pkg.Name != "schema" {
		return
	}
	if p.m.info.Types[n].Value != nil {
		p.simple(n, "schema.Severity", "schema."+other)
	}
}

// extreme swaps the smaller and the larger.
func (p *planter) extreme(n *ast.CallExpr) {
	f, plain := n.Fun.(*ast.Ident)
	if !plain || f.Name != "min" && f.Name != "max" {
		return
	}
	typ, ok := p.m.typeOf(n)
	if !ok || p.m.info.Types[n].Value != nil {
		return
	}
	swap := map[string]string{"min": "max", "max": "min"}[f.Name]
	arguments := func(p *planter) string { return p.text(p.offset(n.Lparen), p.offset(n.End()), 0) }
	p.add(n, typ, func(p *planter) []string { return []string{f.Name + arguments(p), swap + arguments(p)} }, swap+p.plain(n)[len(f.Name):])
}
