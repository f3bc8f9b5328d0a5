package schema

import (
	"bytes"
	"cmp"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"maps"
	"reflect"
	"slices"
	"unicode/utf8"
)

// checkJSON refuses what encoding/json lets pass and a signed record must not
// hold: invalid UTF-8, duplicate keys, nesting past a depth, anything after the
// value.
func checkJSON(b []byte, depth int) error {
	if !utf8.Valid(b) {
		return errors.New("not valid UTF-8")
	}
	dec := json.NewDecoder(bytes.NewReader(b))
	dec.UseNumber()
	if err := checkValue(dec, depth); err != nil {
		return err
	}
	if _, err := dec.Token(); !errors.Is(err, io.EOF) {
		return errors.New("there is something after the end of the JSON value")
	}
	return nil
}

func checkValue(dec *json.Decoder, depth int) error {
	if depth < 0 {
		return errors.New("nested too deep")
	}
	token, err := dec.Token()
	if err != nil {
		return broken(err)
	}
	switch token {
	case json.Delim('{'):
		return checkObject(dec, depth)
	case json.Delim('['):
		return checkArray(dec, depth)
	}
	return nil
}

func checkObject(dec *json.Decoder, depth int) error {
	seen := map[string]bool{}
	for dec.More() {
		token, err := dec.Token()
		if err != nil {
			return broken(err)
		}
		key, _ := token.(string)
		if seen[key] {
			return fmt.Errorf("key %q stands twice", key)
		}
		seen[key] = true
		if err := checkValue(dec, depth-1); err != nil {
			return fmt.Errorf("%s: %w", key, err)
		}
	}
	_, err := dec.Token()
	return broken(err)
}

func checkArray(dec *json.Decoder, depth int) error {
	for i := 0; dec.More(); i++ {
		if err := checkValue(dec, depth-1); err != nil {
			return fmt.Errorf("[%d]: %w", i, err)
		}
	}
	_, err := dec.Token()
	return broken(err)
}

func broken(err error) error {
	if errors.Is(err, io.EOF) || errors.Is(err, io.ErrUnexpectedEOF) {
		return errors.New("the JSON ends too early")
	}
	return err
}

// fields splits an object into its fields, by their exact names.
func fields(b []byte) (map[string]json.RawMessage, error) {
	var object map[string]json.RawMessage
	if err := json.Unmarshal(b, &object); err != nil || object == nil {
		return nil, errors.New("not a JSON object")
	}
	return object, nil
}

// exactKeys demands that an object has just these keys, to the letter, of which
// some may be missing: encoding/json alone would take "ID" for "id".
func exactKeys(object map[string]json.RawMessage, want []string, mayLack ...string) error {
	for _, key := range slices.Sorted(maps.Keys(object)) {
		if !slices.Contains(want, key) {
			return fmt.Errorf("unknown field %q", key)
		}
	}
	for _, key := range want {
		if _, ok := object[key]; !ok && !slices.Contains(mayLack, key) {
			return fmt.Errorf("field %q is missing", key)
		}
	}
	return nil
}

// wrongType says which field, or part of it, holds a JSON value of the wrong type.
func wrongType(field string, err error) error {
	var t *json.UnmarshalTypeError
	if !errors.As(err, &t) {
		return err
	}
	want := map[reflect.Kind]string{reflect.String: "a text", reflect.Int: "a whole number", reflect.Int64: "a whole number", reflect.Slice: "a list"}[t.Type.Kind()]
	return fmt.Errorf("%s: is a JSON %s, not %s", cmp.Or(t.Field, field), t.Value, cmp.Or(want, "what belongs there"))
}
