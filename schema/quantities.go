package schema

import (
	"encoding/json"
	"errors"
	"fmt"

	"feedproof/schema/quantity"

	jsonv2 "github.com/go-json-experiment/json"
	"github.com/go-json-experiment/json/jsontext"
)

// States a value can be in when there is no number. They differ from one
// another, and a blank is none of them.
const (
	Unknown       = "unknown"
	NotMeasured   = "not measured"
	NotApplicable = "not applicable"
)

// Q is a quantity in a record: the number and unit as written, or a state and
// why. The zero Q is "nothing was said".
type Q[T quantity.Quantity] struct {
	quantity.Written
	State string
	Why   string
}

type qJSON struct {
	Value string `json:"value,omitempty"`
	Unit  string `json:"unit,omitempty"`
	State string `json:"state,omitempty"`
	Why   string `json:"why,omitempty"`
}

// Write is a Q that holds w.
func Write[T quantity.Quantity](w quantity.Written) Q[T] { return Q[T]{Written: w} }

// MarshalJSON writes either value and unit, or state and why.
func (q Q[T]) MarshalJSON() ([]byte, error) {
	return json.Marshal(qJSON{Value: q.Value, Unit: q.Unit, State: q.State, Why: q.Why})
}

// UnmarshalJSON reads either form and refuses a unit of another quantity.
func (q *Q[T]) UnmarshalJSON(b []byte) error {
	var j qJSON
	if err := json.Unmarshal(b, &j); err != nil {
		return err
	}
	return q.take(j)
}

// UnmarshalJSONFrom is UnmarshalJSON for the faster reader.
func (q *Q[T]) UnmarshalJSONFrom(dec *jsontext.Decoder) error {
	var j qJSON
	if err := jsonv2.UnmarshalDecode(dec, &j); err != nil {
		return err
	}
	return q.take(j)
}

func (q *Q[T]) take(j qJSON) error {
	*q = Q[T]{Written: quantity.Written{Value: j.Value, Unit: j.Unit}, State: j.State, Why: j.Why}
	if q.State != "" {
		return nil
	}
	_, err := quantity.Of[T](q.Written)
	return err
}

// IsZero reports that nothing was said, so that omitzero leaves it out.
func (q Q[T]) IsZero() bool { return q == Q[T]{} }

// Known reports that there is a number.
func (q Q[T]) Known() bool { return q.Value != "" && q.State == "" }

// ErrNoValue is wrapped by the errors of quantities that hold no number.
var ErrNoValue = errors.New("no value")

// SI is the quantity as its type.
//
// Errors: [ErrNoValue] wrapped with the state when there is no number.
func (q Q[T]) SI() (T, error) {
	if !q.Known() {
		state := q.State
		if state == "" {
			state = "not given"
		}
		return 0, fmt.Errorf("%s: %w", state, ErrNoValue)
	}
	return quantity.Of[T](q.Written)
}

// Or is the quantity as its type, or the fallback where there is no number.
func (q Q[T]) Or(fallback T) T {
	v, err := q.SI()
	if err != nil {
		return fallback
	}
	return v
}

// String is the quantity as written, or its state.
func (q Q[T]) String() string {
	if q.State != "" {
		return q.State
	}
	return q.Written.String()
}
