package schema_test

import (
	"bytes"
	"errors"
	"testing"

	"feedproof/schema"

	"github.com/google/go-cmp/cmp"
)

// What is accepted keeps its bytes, alone and in a record; and a canonical form
// is canonical.
func FuzzDecodeEntry(f *testing.F) {
	for _, kind := range schema.RecordKinds {
		for _, e := range frozenRecord(f, kind).Entries {
			f.Add(e.Raw())
		}
	}
	f.Add([]byte(line("a", 1, nested(schema.MaxDepth))))
	f.Add([]byte(line("a", 1, `{"text":"\ud800","n":[1.0,-0,1e999]}`)))
	f.Fuzz(func(t *testing.T, b []byte) {
		e, err := schema.DecodeEntry(b)
		if err != nil {
			return
		}
		if !bytes.Equal(e.Raw(), b) {
			t.Fatalf("%q became %q", b, e.Raw())
		}
		back, err := schema.DecodeRecord(empty().With(e).Encode())
		if err != nil {
			t.Fatalf("%q is an entry, and not in a record: %v", b, err)
		}
		if diff := cmp.Diff([]schema.Entry{e}, back.Entries, exact); diff != "" {
			t.Fatal(diff)
		}
		if canonical, err := schema.Canonical(b); err == nil {
			again, err := schema.Canonical(canonical)
			if err != nil || !bytes.Equal(again, canonical) {
				t.Fatalf("canonical twice: %q, %v, from %q", again, err, canonical)
			}
		}
	})
}

// What is accepted keeps the bytes of its entries, and what is encoded decodes
// to the same. No record stops the program, valid or not.
func FuzzDecodeRecord(f *testing.F) {
	for _, kind := range schema.RecordKinds {
		f.Add(frozen(f, kind))
	}
	for _, r := range refusals(f) {
		f.Add(r.broken(f))
	}
	f.Add([]byte(`{"record":"hoist","version":2,"id":"h","seal":1,"entries":[{"id":"a"}]}`))
	f.Fuzz(func(t *testing.T, b []byte) {
		r, err := schema.DecodeRecord(b)
		if errors.As(err, new(*schema.TooNewError)) {
			if !bytes.Equal(r.Encode(), b) {
				t.Fatalf("%q became %q", b, r.Encode())
			}
			return
		}
		if err != nil {
			return
		}
		for _, e := range r.Entries {
			if !bytes.Contains(b, e.Raw()) {
				t.Fatalf("%q is not in %q", e.Raw(), b)
			}
		}
		back, err := schema.DecodeRecord(r.Encode())
		if err != nil {
			t.Fatalf("%q was accepted, and %q not: %v", b, r.Encode(), err)
		}
		if diff := cmp.Diff(r, back, exact); diff != "" {
			t.Fatal(diff)
		}
		if (r.Validate() == nil) != (back.Validate() == nil) {
			t.Fatal("valid, and not when it is read again")
		}
	})
}
