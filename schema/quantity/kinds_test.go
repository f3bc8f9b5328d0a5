package quantity

import (
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"slices"
	"strings"
	"testing"
)

// kind is one quantity type with its generic functions bound, so that a law
// can be tried on every type.
type kind struct {
	name       string
	dimension  Dimension
	of         func(Written) (float64, error)
	in         func(si float64, symbol string) float64
	text       func(si float64) string
	write      func(si float64, symbol string, decimals int) Written
	format     func(si float64, symbol string, decimals int) string
	resolution func(Written) (float64, error)
}

func kindOf[Q Quantity]() kind {
	var zero Q
	return kind{
		name:       strings.TrimPrefix(fmt.Sprintf("%T", zero), "quantity."),
		dimension:  zero.Dimension(),
		of:         func(w Written) (float64, error) { q, err := Of[Q](w); return float64(q), err },
		in:         func(si float64, symbol string) float64 { return In(Q(si), symbol) },
		text:       func(si float64) string { return Text(Q(si)) },
		write:      func(si float64, symbol string, decimals int) Written { return Write(Q(si), symbol, decimals) },
		format:     func(si float64, symbol string, decimals int) string { return Format(Q(si), symbol, decimals) },
		resolution: func(w Written) (float64, error) { q, err := Resolution[Q](w); return float64(q), err },
	}
}

var kinds = []kind{
	kindOf[Gauge](), kindOf[Absolute](), kindOf[Difference](),
	kindOf[Flow](), kindOf[MassFlow](),
	kindOf[Temperature](), kindOf[TemperatureDifference](),
	kindOf[Voltage](), kindOf[Current](), kindOf[Resistance](), kindOf[Power](),
	kindOf[Length](), kindOf[Area](), kindOf[Volume](), kindOf[Mass](), kindOf[Density](), kindOf[Viscosity](),
	kindOf[Torque](), kindOf[Speed](), kindOf[Acceleration](), kindOf[EngineSpeed](), kindOf[Duration](),
	kindOf[Fraction](), kindOf[LEL](), kindOf[Lambda](),
	kindOf[SpecificConsumption](), kindOf[SpecificEnergy](), kindOf[Angle](),
}

// TestEveryType holds the list above to the types of the package.
func TestEveryType(t *testing.T) {
	file, err := parser.ParseFile(token.NewFileSet(), "quantity.go", nil, 0)
	if err != nil {
		t.Fatal(err)
	}
	var declared []string
	for _, decl := range file.Decls {
		if f, ok := decl.(*ast.FuncDecl); ok && f.Name.Name == "Dimension" {
			declared = append(declared, f.Recv.List[0].Type.(*ast.Ident).Name)
		}
	}
	var tried []string
	for _, k := range kinds {
		tried = append(tried, k.name)
	}
	slices.Sort(declared)
	slices.Sort(tried)
	if !slices.Equal(declared, tried) {
		t.Errorf("types are %v, the laws are tried on %v", declared, tried)
	}
}

// TestEveryTypeHasUnits also holds that no two types share a dimension and
// that the table has no dimension without a type.
func TestEveryTypeHasUnits(t *testing.T) {
	seen := map[Dimension]string{}
	for _, k := range kinds {
		if other, ok := seen[k.dimension]; ok {
			t.Errorf("%s and %s both measure %s", other, k.name, k.dimension)
		}
		seen[k.dimension] = k.name
		if len(Symbols(k.dimension)) == 0 {
			t.Errorf("%s has no unit", k.name)
		}
	}
	for d := range units {
		if seen[d] == "" {
			t.Errorf("%s has units and no type", d)
		}
	}
}

// TestSpellingsAreUnique holds that a spelling names one unit of its
// dimension, in whatever case it is typed: only a prefix may differ by case
// alone, as in mohm and Mohm.
func TestSpellingsAreUnique(t *testing.T) {
	for _, k := range kinds {
		exact, folded := map[string]string{}, map[string]string{}
		for _, u := range units[k.dimension] {
			for _, s := range append([]string{u.symbol}, u.aliases...) {
				if other, ok := exact[s]; ok {
					t.Errorf("%s: %q is spelled for %s and for %s", k.dimension, s, other, u.symbol)
				}
				exact[s] = u.symbol
				fold := strings.ToLower(s)
				if other, ok := folded[fold]; ok && other != u.symbol && fold[0] != 'm' {
					t.Errorf("%s: %q could be %s or %s", k.dimension, s, other, u.symbol)
				}
				folded[fold] = u.symbol
				if s != strings.Join(strings.Fields(s), " ") || s == "" {
					t.Errorf("%s: %q can never be read: Read joins spaces", k.dimension, s)
				}
				if strings.Trim(s, "0123456789.,+-") == "" {
					t.Errorf("%s: %q is a number", k.dimension, s)
				}
			}
		}
	}
}

// TestSpellingsAreAccepted holds that [Spellings], which the schemas list, is
// what [Of] accepts.
func TestSpellingsAreAccepted(t *testing.T) {
	for _, k := range kinds {
		spellings := Spellings(k.dimension)
		if len(spellings) < len(units[k.dimension]) {
			t.Errorf("%s lists %d spellings of %d units", k.name, len(spellings), len(units[k.dimension]))
		}
		for _, s := range spellings {
			w, err := Read("1.5 " + s)
			if err != nil {
				t.Errorf("%s: %v", k.name, err)
				continue
			}
			if _, err := k.of(w); err != nil {
				t.Errorf("%s: %v", k.name, err)
			}
		}
	}
}
