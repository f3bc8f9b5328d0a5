package schema_test

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"testing"

	"feedproof/schema"
	"feedproof/schema/quantity"

	"github.com/google/go-cmp/cmp"
	"github.com/gowebpki/jcs"
)

const formats = "../testdata/formats/"

// frozen is the first frozen example of a record kind.
func frozen(t testing.TB, kind schema.RecordKind) []byte {
	t.Helper()
	b, err := os.ReadFile(formats + "v1/" + string(kind) + ".json")
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func frozenRecord(t testing.TB, kind schema.RecordKind) schema.Record {
	t.Helper()
	r, err := schema.DecodeRecord(frozen(t, kind))
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// examples are all frozen records of a kind: the first, and those of kinds of
// entry that came later.
func examples(t testing.TB, kind schema.RecordKind) map[string][]byte {
	t.Helper()
	files, err := filepath.Glob(formats + "v1/" + string(kind) + "*.json")
	if err != nil || len(files) == 0 {
		t.Fatalf("no frozen record of kind %s, %v", kind, err)
	}
	all := map[string][]byte{}
	for _, name := range files {
		text, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		all[filepath.Base(name)] = text
	}
	return all
}

// frozenEntries are the entries of all frozen records of a kind.
func frozenEntries(t testing.TB, kind schema.RecordKind) (entries []schema.Entry) {
	t.Helper()
	for name, text := range examples(t, kind) {
		r, err := schema.DecodeRecord(text)
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		entries = append(entries, r.Entries...)
	}
	return entries
}

// When one of these tests fails the program is wrong, not the example: its sum
// stands beside it since the day it was frozen.
func TestFrozenFiles(t *testing.T) {
	text, err := os.ReadFile(formats + "v1/SHA256SUMS")
	if err != nil {
		t.Fatal(err)
	}
	sums := map[string]string{}
	for line := range strings.Lines(string(text)) {
		if words := strings.Fields(line); len(words) == 2 {
			sums[words[1]] = words[0]
		}
	}
	for _, kind := range schema.RecordKinds {
		if sums[string(kind)+".json"] == "" {
			t.Errorf("%s.json: is not in SHA256SUMS", kind)
		}
		for name, example := range examples(t, kind) {
			sum := sha256.Sum256(example)
			if got := hex.EncodeToString(sum[:]); got != sums[name] {
				t.Errorf("%s: has the sum %s, frozen in testdata/formats/v1/SHA256SUMS is %q", name, got, sums[name])
			}
			delete(sums, name)
		}
	}
	for name := range sums {
		t.Errorf("%s: stands in SHA256SUMS and is not there", name)
	}
}

func TestFrozenRecords(t *testing.T) {
	for _, kind := range schema.RecordKinds {
		for name, b := range examples(t, kind) {
			t.Run(name, func(t *testing.T) { readsTheSame(t, kind, b) })
		}
	}
}

func readsTheSame(t *testing.T, kind schema.RecordKind, b []byte) {
	t.Helper()
	r, err := schema.DecodeRecord(b)
	if err != nil {
		t.Fatal(err)
	}
	if r.Kind != kind || r.Version != 1 {
		t.Errorf("is a %s of version %d", r.Kind, r.Version)
	}
	if diff := cmp.Diff(string(b), string(r.Encode())); diff != "" {
		t.Errorf("encoded otherwise (-frozen +encoded):\n%s", diff)
	}
	if err := r.Validate(); err != nil {
		t.Error(err)
	}
	shuffled := slices.Clone(r.Entries)
	slices.Reverse(shuffled)
	if got := schema.NewRecord(kind, r.ID).With(shuffled...).Encode(); !bytes.Equal(got, b) {
		t.Error("its entries put together from the last to the first are another record")
	}
}

func TestFrozenCoversEveryKind(t *testing.T) {
	for _, kind := range schema.RecordKinds {
		kinds := schema.Kinds(kind)
		if len(kinds) == 0 {
			t.Errorf("%s: no entry kinds", kind)
		}
		entries := frozenEntries(t, kind)
		for _, data := range kinds {
			if !slices.ContainsFunc(entries, func(e schema.Entry) bool { return e.Kind == data.EntryKind() }) {
				t.Errorf("no frozen example testdata/formats/v1/%s*.json has a %s entry", kind, data.EntryKind())
			}
		}
	}
}

func TestFrozenEntriesAreCanonical(t *testing.T) {
	for _, kind := range schema.RecordKinds {
		for _, e := range frozenEntries(t, kind) {
			canonical, err := jcs.Transform(e.Raw())
			if err != nil || !bytes.Equal(canonical, e.Raw()) {
				t.Errorf("%s: %s: not in the form of RFC 8785, %v", kind, e.ID, err)
			}
		}
	}
}

// Nothing of an entry is lost in its struct: written again it is the same.
func TestFrozenDataFitsItsStruct(t *testing.T) {
	for _, kind := range schema.RecordKinds {
		for _, e := range frozenEntries(t, kind) {
			data := newData(t, kind, e.Kind)
			if err := json.Unmarshal(e.Data, data); err != nil {
				t.Fatalf("%s: %v", e.ID, err)
			}
			again, err := json.Marshal(data)
			if err != nil {
				t.Fatal(err)
			}
			if again, err = schema.Canonical(again); err != nil || !bytes.Equal(again, e.Data) {
				t.Errorf("%s entry %s became\n%s, %v, from\n%s", e.Kind, e.ID, again, err, e.Data)
			}
		}
	}
}

func newData(t *testing.T, record schema.RecordKind, kind string) any {
	t.Helper()
	for _, data := range schema.Kinds(record) {
		if data.EntryKind() == kind {
			return reflect.New(reflect.TypeOf(data)).Interface()
		}
	}
	t.Fatalf("%s: no entry kind %q", record, kind)
	return nil
}

// A sign-off names exactly the entries before it.
func TestFrozenSignOffHasSeenWhatStandsBefore(t *testing.T) {
	r := frozenRecord(t, schema.VehicleRecord)
	i := slices.IndexFunc(r.Entries, func(e schema.Entry) bool { return e.Kind == "signoff" })
	if i < 0 {
		t.Fatal("no sign-off")
	}
	data, err := schema.Into[schema.SignOffData](r.Entries[i])
	if err != nil {
		t.Fatal(err)
	}
	if st := data.Statement; st.Entries != i || st.Digest != schema.Digest(r.Entries[:i]) {
		t.Errorf("signs off %d entries with digest %s; before it stand %d with %s", st.Entries, st.Digest, i, schema.Digest(r.Entries[:i]))
	}
}

// fieldWalk notes which fields of the structs exist, and which are used.
type fieldWalk struct{ exist, used map[string]bool }

func isQuantity(t reflect.Type) bool {
	return t.Kind() == reflect.Struct && strings.HasPrefix(t.Name(), "Q[") || t == reflect.TypeFor[quantity.Written]()
}

// walk follows a type and, beside it, a JSON value of that type; used is false
// where there is no value.
func (w fieldWalk) walk(t reflect.Type, value any, used bool) {
	switch {
	case t.Kind() == reflect.Pointer:
		w.walk(t.Elem(), value, used)
	case t.Kind() == reflect.Slice:
		items, _ := value.([]any)
		for _, item := range items {
			w.walk(t.Elem(), item, used)
		}
		w.walk(t.Elem(), nil, false)
	case t.Kind() == reflect.Struct && !isQuantity(t):
		object, _ := value.(map[string]any)
		for i := range t.NumField() {
			name, _, _ := strings.Cut(t.Field(i).Tag.Get("json"), ",")
			item, there := object[name]
			key := t.Name() + "." + name
			w.exist[key] = true
			w.used[key] = w.used[key] || there && used
			w.walk(t.Field(i).Type, item, there && used)
		}
	}
}

func TestFrozenCoversEveryField(t *testing.T) {
	w := fieldWalk{exist: map[string]bool{}, used: map[string]bool{}}
	var values, states int
	for _, kind := range schema.RecordKinds {
		for _, e := range frozenEntries(t, kind) {
			var value any
			if err := json.Unmarshal(e.Data, &value); err != nil {
				t.Fatal(err)
			}
			w.walk(reflect.TypeOf(newData(t, kind, e.Kind)), value, true)
			values += bytes.Count(e.Data, []byte(`"unit":`))
			states += bytes.Count(e.Data, []byte(`{"state":`))
		}
		for _, data := range schema.Kinds(kind) {
			w.walk(reflect.TypeOf(data), nil, false)
		}
	}
	for key := range w.exist {
		if !w.used[key] {
			t.Errorf("no frozen example has %s", key)
		}
	}
	if len(w.exist) < 200 || values < 100 || states < 5 {
		t.Errorf("%d fields, %d quantities, %d states: the walk misses some", len(w.exist), values, states)
	}
}
