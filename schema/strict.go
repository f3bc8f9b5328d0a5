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
	"strings"
	"unicode/utf8"

	"github.com/go-json-experiment/json/jsontext"
)

// checkJSON refuses what encoding/json lets pass and a signed record must not
// hold: invalid UTF-8, duplicate keys, nesting past a depth, anything after the
// value.
func checkJSON(b []byte, depth int) error {
	if !utf8.Valid(b) {
		return errors.New("not valid UTF-8")
	}
	// An escape of half a surrogate pair is left to Validate: it is not canonical.
	dec := jsontext.NewDecoder(bytes.NewBuffer(b), jsontext.AllowInvalidUTF8(true))
	for {
		token, err := dec.ReadToken()
		if err != nil {
			return broken(dec, err)
		}
		if within(dec, token.Kind()) > depth {
			return at(dec, dec.StackPointer(), errors.New("nested too deep"))
		}
		if dec.StackDepth() == 0 {
			break
		}
	}
	if _, err := dec.ReadToken(); !errors.Is(err, io.EOF) {
		return errors.New("there is something after the end of the JSON value")
	}
	return nil
}

// within is how many objects and lists are around the value that a token
// begins.
func within(dec *jsontext.Decoder, token jsontext.Kind) int {
	if token == jsontext.KindBeginObject || token == jsontext.KindBeginArray {
		return dec.StackDepth() - 1
	}
	return dec.StackDepth()
}

// broken says what is wrong with the JSON, and where.
func broken(dec *jsontext.Decoder, err error) error {
	var syntax *jsontext.SyntacticError
	switch {
	case !errors.As(err, &syntax):
		return errors.New("the JSON ends too early")
	case errors.Is(err, io.ErrUnexpectedEOF):
		return at(dec, syntax.JSONPointer, errors.New("the JSON ends too early"))
	case errors.Is(err, jsontext.ErrDuplicateName):
		return at(dec, syntax.JSONPointer.Parent(), fmt.Errorf("key %q stands twice", syntax.JSONPointer.LastToken()))
	}
	return at(dec, syntax.JSONPointer, syntax.Err)
}

// at puts the fields and places in lists before an error that lead to it.
func at(dec *jsontext.Decoder, pointer jsontext.Pointer, err error) error {
	var path strings.Builder
	level := 0
	for token := range pointer.Tokens() {
		level++
		if kind, _ := dec.StackIndex(level); kind == jsontext.KindBeginArray {
			token = "[" + token + "]"
		}
		path.WriteString(token + ": ")
	}
	return fmt.Errorf("%s%w", &path, err)
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
