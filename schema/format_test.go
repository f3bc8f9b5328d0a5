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

// frozenHashes are the SHA-256 of the examples that were frozen on 2026-11-30.
// When one of these tests fails the program is wrong, not the example.
var frozenHashes = map[schema.RecordKind]string{
	schema.VehicleRecord: "8f7781b95dc7027ed106c4048cd854eb2e8c380e0ba9d6379c15dc894e24eb45",
	schema.ShopRecord:    "36e3f33c06cda2e64164c6295ce0412c901caf591191e51f2461d8abcd753ef0",
	schema.GaugeRecord:   "a8febe49adbed8f059a568357a0f7852f3079ae2b7a4510ce4dac82760e593b1",
	schema.PartRecord:    "2f21a89b915fa02766b9571ca4c6c1c7fb8beaf199012838b5299435df3f1384",
}

// frozen is the frozen example of a record kind.
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

func TestFrozenFiles(t *testing.T) {
	files, err := filepath.Glob(formats + "v1/*.json")
	if err != nil || len(files) != len(schema.RecordKinds) {
		t.Fatalf("%d frozen records for %d kinds, %v", len(files), len(schema.RecordKinds), err)
	}
	for _, kind := range schema.RecordKinds {
		sum := sha256.Sum256(frozen(t, kind))
		if got := hex.EncodeToString(sum[:]); got != frozenHashes[kind] {
			t.Errorf("%s.json was edited: %s, frozen as %s", kind, got, frozenHashes[kind])
		}
	}
}

func TestFrozenRecords(t *testing.T) {
	for _, kind := range schema.RecordKinds {
		t.Run(string(kind), func(t *testing.T) {
			b, r := frozen(t, kind), frozenRecord(t, kind)
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
		})
	}
}

func TestFrozenCoversEveryKind(t *testing.T) {
	for _, kind := range schema.RecordKinds {
		kinds := schema.Kinds(kind)
		if len(kinds) == 0 {
			t.Errorf("%s: no entry kinds", kind)
		}
		r := frozenRecord(t, kind)
		for _, data := range kinds {
			if !slices.ContainsFunc(r.Entries, func(e schema.Entry) bool { return e.Kind == data.EntryKind() }) {
				t.Errorf("%s.json has no %s entry", kind, data.EntryKind())
			}
		}
	}
}

func TestFrozenEntriesAreCanonical(t *testing.T) {
	for _, kind := range schema.RecordKinds {
		for _, e := range frozenRecord(t, kind).Entries {
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
		for _, e := range frozenRecord(t, kind).Entries {
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
		for _, e := range frozenRecord(t, kind).Entries {
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
