package schema

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"slices"
	"unicode/utf8"
)

// checkJSON refuses what encoding/json lets pass and a signed record must not
// hold: invalid UTF-8, duplicate keys, nesting past [MaxDepth], anything after
// the value.
func checkJSON(b []byte) error {
	if !utf8.Valid(b) {
		return errors.New("not valid UTF-8")
	}
	dec := json.NewDecoder(bytes.NewReader(b))
	dec.UseNumber()
	if err := checkValue(dec, 0); err != nil {
		return err
	}
	if _, err := dec.Token(); !errors.Is(err, io.EOF) {
		return errors.New("there is something after the end of the JSON value")
	}
	return nil
}

func checkValue(dec *json.Decoder, depth int) error {
	if depth > MaxDepth {
		return fmt.Errorf("nested deeper than %d", MaxDepth)
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
		if err := checkValue(dec, depth+1); err != nil {
			return fmt.Errorf("%s: %w", key, err)
		}
	}
	_, err := dec.Token()
	return broken(err)
}

func checkArray(dec *json.Decoder, depth int) error {
	for i := 0; dec.More(); i++ {
		if err := checkValue(dec, depth+1); err != nil {
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

// exactKeys demands that an object has just these keys, to the letter:
// encoding/json alone would take "ID" for "id".
func exactKeys(b []byte, want []string) error {
	var object map[string]json.RawMessage
	if err := json.Unmarshal(b, &object); err != nil {
		return errors.New("not a JSON object")
	}
	for key := range object {
		if !slices.Contains(want, key) {
			return fmt.Errorf("unknown field %q", key)
		}
	}
	for _, key := range want {
		if _, ok := object[key]; !ok {
			return fmt.Errorf("field %q is missing", key)
		}
	}
	return nil
}
