package schema_test

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"strings"
	"testing"

	"feedproof/schema"

	"github.com/santhosh-tekuri/jsonschema/v5"
)

// refusal is a change to a frozen record and the error it must meet. The list
// is data so that other validators can read it too: Schema tells whether a JSON
// Schema alone can see the mistake.
type refusal struct {
	Name          string `json:"name"`
	Record        schema.RecordKind
	Find, Replace string
	Error         string // how the message begins
	Schema        bool
}

func refusals(t testing.TB) []refusal {
	t.Helper()
	b, err := os.ReadFile(formats + "refused.json")
	if err != nil {
		t.Fatal(err)
	}
	var list []refusal
	if err := json.Unmarshal(b, &list); err != nil {
		t.Fatal(err)
	}
	if len(list) < 100 {
		t.Fatalf("%d refusals, want 100 or more", len(list))
	}
	return list
}

// broken is the frozen record with the change. The text to change stands in it
// exactly once.
func (r refusal) broken(t testing.TB) []byte {
	t.Helper()
	b := frozen(t, r.Record)
	if n := bytes.Count(b, []byte(r.Find)); n != 1 {
		t.Fatalf("%s: %q stands %d times in %s.json", r.Name, r.Find, n, r.Record)
	}
	return bytes.Replace(b, []byte(r.Find), []byte(r.Replace), 1)
}

func decodeAndValidate(b []byte) error {
	r, err := schema.DecodeRecord(b)
	if err != nil {
		return err
	}
	return r.Validate()
}

func TestStrictReading(t *testing.T) {
	accepted := map[schema.RecordKind]bool{}
	for _, r := range refusals(t) {
		t.Run(r.Name, func(t *testing.T) {
			broken := r.broken(t)
			if !accepted[r.Record] {
				if err := decodeAndValidate(frozen(t, r.Record)); err != nil {
					t.Fatalf("the unbroken record: %v", err)
				}
				accepted[r.Record] = true
			}
			err := decodeAndValidate(broken)
			if err == nil {
				t.Fatal("accepted")
			}
			if r.Error == "" || !strings.HasPrefix(err.Error(), r.Error) {
				t.Errorf("got  %v\nwant %s", err, r.Error)
			}
		})
	}
}

// What the list says about the schema alone holds: it refuses the cases that it
// can see and takes the others, so the embedded text means what Validate says.
func TestStrictReadingBySchemaAlone(t *testing.T) {
	compiled := map[schema.RecordKind]*jsonschema.Schema{}
	for _, kind := range schema.RecordKinds {
		compiled[kind] = compile(t, kind)
	}
	for _, r := range refusals(t) {
		var document any
		dec := json.NewDecoder(bytes.NewReader(r.broken(t)))
		dec.UseNumber()
		if dec.Decode(&document) != nil {
			if r.Schema {
				t.Errorf("%s: is not JSON, so no schema can see it", r.Name)
			}
			continue
		}
		if err := compiled[r.Record].Validate(document); (err != nil) != r.Schema {
			t.Errorf("%s: the schema says %v", r.Name, err)
		}
	}
}

func compile(t *testing.T, kind schema.RecordKind) *jsonschema.Schema {
	t.Helper()
	text, err := schema.Schema(kind)
	if err != nil {
		t.Fatal(err)
	}
	c := jsonschema.NewCompiler()
	c.AssertFormat = true
	if err := c.AddResource("record.json", bytes.NewReader(text)); err != nil {
		t.Fatal(err)
	}
	s, err := c.Compile("record.json")
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// noSig has the form of a signature and signs nothing.
var noSig = strings.Repeat("A", 86)

// signed is an entry in the form in which it is kept.
func signed(t testing.TB, e schema.Entry) schema.Entry {
	t.Helper()
	s, err := e.Signed(noSig)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// line is an entry of a note whose text or data are given.
func line(id string, counter int, data string) string {
	return fmt.Sprintf(`{"after":[],"at":"2026-03-02T09:00:00Z","by":"tech-1","counter":%d,"data":%s,"device":"bay-2","entered":"2026-03-02T09:00:00Z","id":%q,"kind":"note","sig":%q}`, counter, data, id, noSig)
}

func record(lines ...string) string {
	return `{"record":"gauge","version":1,"id":"gas-1","entries":[` + "\n" + strings.Join(lines, ",\n") + "\n]}\n"
}

func nested(depth int) string {
	return strings.Repeat("[", depth) + strings.Repeat("]", depth)
}

// Sizes and depths, each beside what is read: for an entry that is what stands
// at the limit.
func TestLimits(t *testing.T) {
	fill := func(size int) string {
		empty := len(line("a", 1, `{"text":""}`))
		return line("a", 1, `{"text":"`+strings.Repeat("x", size-empty)+`"}`)
	}
	entry := func(s string) error { _, err := schema.DecodeEntry([]byte(s)); return err }
	whole := func(s string) error { _, err := schema.DecodeRecord([]byte(s)); return err }
	tests := []struct {
		name      string
		read      func(string) error
		good, bad string
		want      string
	}{
		{"entry bytes", entry, fill(schema.MaxEntryBytes), fill(schema.MaxEntryBytes + 1), "entry: 262145 bytes, more than 262144"},
		{"entry bytes in a record", whole, record(fill(schema.MaxEntryBytes)), record(fill(schema.MaxEntryBytes + 1)), "record gas-1: entries[0]: entry: 262145 bytes, more than 262144"},
		// the list of data stands one deep in the entry
		{"entry depth", entry, line("a", 1, nested(schema.MaxDepth)), line("a", 1, nested(schema.MaxDepth+1)), "entry: data: " + strings.Repeat("[0]: ", schema.MaxDepth) + "nested too deep"},
		{"entry depth in a record", whole, record(line("a", 1, nested(schema.MaxDepth))), record(line("a", 1, nested(schema.MaxDepth+1))), "record: entries: [0]: data: " + strings.Repeat("[0]: ", schema.MaxDepth) + "nested too deep"},
		{"absurd depth", entry, line("a", 1, "{}"), line("a", 1, nested(100_000)), "entry: data: " + strings.Repeat("[0]: ", schema.MaxDepth) + "nested too deep"},
		{"entries", whole, record(line("a", 1, "{}")), record(strings.Repeat("0,", schema.MaxEntries) + "0"), "record gas-1: 200001 entries, more than 200000"},
		{"record bytes", whole, record() + " ", record() + strings.Repeat(" ", schema.MaxRecordBytes-len(record())+1), "record: 67108865 bytes, more than 67108864"},
		{"UTF-8 in an entry", entry, line("a", 1, `{"text":"é"}`), line("a", 1, "{\"text\":\"\xc3\"}"), "entry: not valid UTF-8"},
		{"UTF-8 in a record", whole, record(line("a", 1, `{"text":"é"}`)), record(line("a", 1, "{\"text\":\"\xc3\"}")), "record: not valid UTF-8"},
		{"white space before an entry", entry, line("a", 1, "{}"), " " + line("a", 1, "{}"), "entry: there is white space around the JSON value"},
		{"line feed after an entry", entry, line("a", 1, "{}"), line("a", 1, "{}") + "\n", "entry: there is white space around the JSON value"},
		{"two entries", entry, line("a", 1, "{}"), line("a", 1, "{}") + line("b", 2, "{}"), "entry: there is something after the end of the JSON value"},
		{"entry that is no object", entry, line("a", 1, "{}"), `"note"`, "entry: not a JSON object"},
		{"no entry", entry, line("a", 1, "{}"), "", "entry: the JSON ends too early"},
		{"record that is no object", whole, record(), "[]", "record: not a JSON object"},
		{"null record", whole, record(), "null", "record: not a JSON object"},
		{"null entries", whole, `{"record":"gauge","version":1,"id":"g","entries":[]}`, `{"record":"gauge","version":1,"id":"g","entries":null}`, "record g: entries: is not a list"},
		{"text for entries", whole, `{"record":"gauge","version":1,"id":"g","entries":[]}`, `{"record":"gauge","version":1,"id":"g","entries":"x"}`, "record: entries: is a JSON string, not a list"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			if err := tt.read(tt.good); err != nil {
				t.Fatalf("the good one: %.200s", err.Error())
			}
			err := tt.read(tt.bad)
			if err == nil {
				t.Fatal("accepted")
			}
			if err.Error() != tt.want {
				t.Errorf("got  %.300s\nwant %s", err.Error(), tt.want)
			}
		})
	}
}

// A record that could not be read again is not valid.
func TestValidateRefusesWhatCannotBeReadAgain(t *testing.T) {
	e, err := schema.DecodeEntry([]byte(line("n", 1, `{"text":"x"}`)))
	if err != nil {
		t.Fatal(err)
	}
	entries := make([]schema.Entry, schema.MaxEntries+1)
	for i := range entries {
		entries[i] = e
		entries[i].ID = fmt.Sprint("n", i)
	}
	if err := schema.NewRecord(schema.GaugeRecord, "gas-1").With(e).Validate(); err != nil {
		t.Fatal(err)
	}
	err = schema.NewRecord(schema.GaugeRecord, "gas-1").With(entries...).Validate()
	if err == nil || !strings.Contains(err.Error(), "200001 entries") {
		t.Errorf("got %v", err)
	}
}

func TestValidateOrder(t *testing.T) {
	a, b, c := line("a", 1, `{"text":"x"}`), line("b", 1, `{"text":"x"}`), line("a", 2, `{"text":"x"}`)
	c = strings.Replace(c, `"id":"a"`, `"id":"A"`, 1)
	if err := decodeAndValidate([]byte(record(a, b, c))); err != nil {
		t.Fatal(err)
	}
	for want, doc := range map[string]string{
		"record gas-1: entry a (note): stands out of order": record(b, a, c),
		"record gas-1: entry b (note): stands out of order": record(a, c, b),
	} {
		if err := decodeAndValidate([]byte(doc)); err == nil || err.Error() != want {
			t.Errorf("got %v, want %s", err, want)
		}
	}
}

// Each problem of a record is listed, and not only the first.
func TestValidateListsEveryProblem(t *testing.T) {
	doc := string(frozen(t, schema.GaugeRecord))
	doc = strings.Replace(doc, `"measures":"gas"`, `"measures":"luck"`, 1)
	doc = strings.Replace(doc, `"due":"2026-06-15"`, `"due":"soon"`, 1)
	err := decodeAndValidate([]byte(doc))
	var invalid *schema.InvalidError
	if !errors.As(err, &invalid) || invalid.ID != "gas-1" {
		t.Fatalf("got %v", err)
	}
	for _, want := range []string{"(gauge): measures: ", "(calibration): due: "} {
		if !strings.Contains(err.Error(), want) {
			t.Errorf("%q is not in %v", want, err)
		}
	}
}

// A record of a later version is kept to the byte, whatever is new in it.
func TestNewerVersion(t *testing.T) {
	known, later := line("a", 1, `{"text":"x"}`), `{"at":"yesterday","id":"b","kind":"hologram","mood":"good"}`
	extra := strings.Replace(line("c", 2, `{"depth":"x"}`), `{"after"`, `{"seal":"wax","after"`, 1)
	tests := []struct {
		name, doc string
		entries   int
	}{
		{"same layout", strings.Replace(record(known), `"version":1`, `"version":2`, 1), 1},
		{"new fields and entries", `{ "record": "hoist", "version":7, "id":"gas-1", "seal":"wax", "entries":[` + known + ", " + later + ",\n" + extra + " ] }", 2},
		{"entries of another sort", `{"record":"gauge","version":2,"id":"gas-1","entries":{"a":1}}`, 0},
		{"no entries", `{"version":2,"id":"gas-1"}`, 0},
	}
	if err := decodeAndValidate([]byte(record(known))); err != nil {
		t.Fatal(err)
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			r, err := schema.DecodeRecord([]byte(tt.doc))
			var tooNew *schema.TooNewError
			if !errors.As(err, &tooNew) {
				t.Fatalf("got %v, want a *TooNewError", err)
			}
			want := fmt.Sprintf("record gas-1: read-only: needs version %d, this program knows 1", r.Version)
			if err.Error() != want || tooNew.Need != r.Version || tooNew.Have != schema.MaxVersion {
				t.Errorf("got %v, want %s", err, want)
			}
			if len(r.Entries) != tt.entries {
				t.Errorf("%d entries can be named, want %d", len(r.Entries), tt.entries)
			}
			if got := string(r.Encode()); got != tt.doc {
				t.Errorf("encoded as %q, want the bytes as they came", got)
			}
			e, err := schema.DecodeEntry([]byte(line("z", 9, `{"text":"x"}`)))
			if err != nil {
				t.Fatal(err)
			}
			more := r.With(e)
			if got := string(more.Encode()); got != tt.doc {
				t.Errorf("with an entry it is encoded as %q, and it is read-only", got)
			}
			if err := more.Validate(); !errors.As(err, &tooNew) {
				t.Errorf("Validate: got %v, want a *TooNewError", err)
			}
		})
	}
	if _, err := schema.DecodeRecord([]byte(`{"version":2,"id":"../x"}`)); err == nil || errors.As(err, new(*schema.TooNewError)) {
		t.Errorf("a later version with an id that is none: got %v", err)
	}
}
