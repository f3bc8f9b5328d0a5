package quantity

// Width is a written half-width, span, division or step of a quantity: scaled
// to SI but without the offset of its zero. The reference of a pressure, such
// as abs or vacuum, is ignored; only a step is negative. Errors are those of [Of].
func Width[Q Quantity](w Written) (Q, error) {
	var zero Q
	d := zero.Dimension()
	if _, isPressure := accepted[d]; isPressure {
		symbol, _ := split(w.Unit)
		w.Unit = complete(d, symbol)
	}
	u, n, err := w.resolve(d)
	if err != nil {
		return 0, err
	}
	return Q(n * u.factor), nil
}
