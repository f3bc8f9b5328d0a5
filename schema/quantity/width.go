package quantity

import "fmt"

// Width is a written half-width, span or division of a quantity: scaled to SI
// but without the offset of its zero. A reference such as "abs" is ignored.
func Width[Q Quantity](w Written) (Q, error) {
	var zero Q
	symbol, _ := split(w.Unit)
	u, ok := lookup(zero.Dimension(), symbol)
	if !ok {
		return 0, &Error{Text: w.String(), Wrong: fmt.Sprintf("%q is not a unit of %s", symbol, zero.Dimension())}
	}
	n, err := w.number()
	if err != nil {
		return 0, &Error{Text: w.String(), Wrong: err.Error()}
	}
	return Q(n * u.factor), nil
}
