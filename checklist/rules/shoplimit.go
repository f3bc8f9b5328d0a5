package rules

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"

	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/quantity"
)

// A shop may set a tighter limit of its own, and only a tighter one: see
// [schema.LimitData]. It stands in place of the first step of a rule's scale,
// in the unit of that rule; a looser one, and one in a unit that does not fit,
// has no effect. Rules whose limits are fixed do not ask for it.

// ShopLimit is the limit of a rule that a shop may tighten.
type ShopLimit struct {
	fixed float64 // as the program has it, SI
	least bool    // less is worse
	read  func(quantity.Written) (float64, error)
	text  func(float64) string
}

// atMostOwn is the first step of a scale of which more is worse, atLeastOwn of
// one of which less is.
func atMostOwn[Q quantity.Quantity](s scale) *ShopLimit { return newShopLimit[Q](s[0].above, false) }

func atLeastOwn[Q quantity.Quantity](s floorScale) *ShopLimit {
	return newShopLimit[Q](s[0].above, true)
}

func newShopLimit[Q quantity.Quantity](fixed float64, least bool) *ShopLimit {
	return &ShopLimit{
		fixed: fixed, least: least, text: func(x float64) string { return quantity.Text(Q(x)) },
		read: ownValue[Q],
	}
}

// ownValue is a limit of a shop in SI; a share may stand without a unit.
func ownValue[Q quantity.Quantity](w quantity.Written) (float64, error) {
	if w.Unit == "" && Q(0).Dimension() == quantity.Fraction(0).Dimension() {
		w.Unit = "ratio"
	}
	q, err := quantity.Of[Q](w)
	return float64(q), err
}

// Change says what a written limit changes for this shop, or why it has no
// effect. It is in a unit of the rule's own, and no looser than the program's.
func (l *ShopLimit) Change(w quantity.Written) (string, error) {
	own, err := l.read(w)
	switch {
	case err != nil:
		return "", err
	case own < 0 || math.IsNaN(own):
		return "", fmt.Errorf("%s is below nothing; the program's limit is %s", w, l)
	case l.looser(own):
		return "", fmt.Errorf("%s is looser than the program's %s, which no shop may loosen", w, l)
	case !exceeds(own, l.fixed) && !exceeds(l.fixed, own):
		return "the program's own " + l.String() + " again", nil
	}
	return fmt.Sprintf("%s %s in place of %s", l.word(), w, l.text(l.fixed)), nil
}

func (l *ShopLimit) looser(own float64) bool {
	if l.least {
		return exceeds(l.fixed, own)
	}
	return exceeds(own, l.fixed)
}

// String is the program's limit.
func (l *ShopLimit) String() string { return l.word() + " " + l.text(l.fixed) }

func (l *ShopLimit) word() string {
	if l.least {
		return "at least"
	}
	return "at most"
}

// Tightened are the rules of which a shop may tighten a limit.
func Tightened() []Rule {
	return slices.DeleteFunc(slices.Clone(registry), func(r Rule) bool { return r.Shop == nil })
}

// Own says what a limit of this shop changes, or why it has no effect.
func Own(d schema.LimitData) (string, error) {
	i := slices.IndexFunc(registry, func(r Rule) bool { return strings.EqualFold(r.ID, d.Limit) })
	if i < 0 {
		return "", errors.New("there is no such rule")
	}
	if registry[i].Shop == nil {
		return "", errors.New("its limits are fixed: no shop changes them")
	}
	return registry[i].Shop.Change(quantity.Written{Value: d.Value, Unit: d.Unit})
}

// shopScale is a rule's scale and limit in this shop.
func shopScale[Q quantity.Quantity](c *state.Car, rule, limit string, s scale) (scale, string) {
	own, text, ok := shopLimit[Q](c, rule)
	if !ok || own < 0 || own >= s[0].above {
		return s, limit
	}
	s = slices.Clone(s)
	s[0].above = own
	return s, limit + "; this shop: " + text
}

// shopFloor is shopScale for a scale of which less is worse.
func shopFloor[Q quantity.Quantity](c *state.Car, rule, limit string, s floorScale) (floorScale, string) {
	own, text, ok := shopLimit[Q](c, rule)
	if !ok || own <= s[0].above {
		return s, limit
	}
	s = slices.Clone(s)
	s[0].above = own
	return s, limit + "; this shop: " + text
}

func shopLimit[Q quantity.Quantity](c *state.Car, rule string) (own float64, text string, ok bool) {
	d, ok := c.Limit(rule)
	if !ok {
		return 0, "", false
	}
	own, err := ownValue[Q](quantity.Written{Value: d.Value, Unit: d.Unit})
	return own, quantity.Text(Q(own)), err == nil && !math.IsNaN(own)
}
