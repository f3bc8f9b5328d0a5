package fuel

import (
	"fmt"

	"feedproof/schema/quantity"
)

// RangeError says which item fell outside the range in which a formula or a
// table holds.
type RangeError struct {
	Item  string // what was asked of, as a person names it
	Value string
	Low   string
	High  string
	Over  bool // it is over High, and not under Low
}

func (e *RangeError) Error() string {
	return fmt.Sprintf("%s: %s is outside %s to %s", e.Item, e.Value, e.Low, e.High)
}

// within refuses a value outside low..high, and one that is not a number.
func within[Q quantity.Quantity](item string, value, low, high Q) error {
	if value >= low && value <= high {
		return nil
	}
	return &RangeError{item, quantity.Text(value), quantity.Text(low), quantity.Text(high), value > high}
}

// positive refuses zero, negative and not-a-number.
func positive[Q quantity.Quantity](item string, value Q) error {
	if value > 0 {
		return nil
	}
	return fmt.Errorf("%s: %s must be more than zero", item, quantity.Text(value))
}

// notNegative refuses negative and not-a-number.
func notNegative[Q quantity.Quantity](item string, value Q) error {
	if value >= 0 {
		return nil
	}
	return fmt.Errorf("%s: %s is negative", item, quantity.Text(value))
}

// first is the first error of several checks.
func first(errs ...error) error {
	for _, err := range errs {
		if err != nil {
			return err
		}
	}
	return nil
}
