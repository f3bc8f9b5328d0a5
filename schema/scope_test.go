package schema_test

import (
	"crypto/sha256"
	"encoding/base64"
	"encoding/json"
	"reflect"
	"regexp"
	"slices"
	"strings"
	"testing"

	"feedproof/schema"
)

var scope = schema.Scope{Shop: "SHA256:abc", Kind: schema.VehicleRecord, ID: "car-1"}

// The message is put together here by hand, from what the format says of it.
func TestMessage(t *testing.T) {
	first, second := wrote(t, "bay-1", "01A", 1), wrote(t, "bay-2", "01B", 1)
	both, err := schema.DecodeEntry([]byte(`{"after":["01A","01B"],"at":"2026-03-02T09:00:00Z","by":"tech-1","counter":2,"data":{"text":"x"},"device":"bay-1","entered":"2026-03-02T09:00:00Z","id":"01C","kind":"note"}`))
	if err != nil {
		t.Fatal(err)
	}
	of := func(e schema.Entry, seen ...string) string {
		return "feedproof entry 1\nSHA256:abc\nvehicle\ncar-1\n" + strings.Join(append(seen, string(e.Raw())), "\n")
	}
	hash := func(message string) string {
		sum := sha256.Sum256([]byte(message))
		return base64.StdEncoding.EncodeToString(sum[:])
	}
	want := of(both, hash(of(first)), hash(of(second)))
	hashes := schema.HashesOf(scope, []schema.Entry{first, second})
	for name, e := range map[string]schema.Entry{"unsigned": both, "signed": signed(t, both), "signed again": signed(t, signed(t, both))} {
		if got, err := hashes.Sign(e); err != nil || string(got) != want {
			t.Errorf("%s: got %v\n%s\nwant\n%s", name, err, got, want)
		}
	}
	if raw := string(signed(t, both).Raw()); raw != strings.TrimSuffix(string(both.Raw()), "}")+`,"sig":"`+noSig+`"}` {
		t.Errorf("the signature is not the end of the line: %s", raw)
	}
}

// The reader takes in an envelope what the patterns of the schema say.
func TestEnvelopeFitsItsPatterns(t *testing.T) {
	head, sig := regexp.MustCompile(schema.HeadPattern), regexp.MustCompile(schema.SigPattern)
	good := strings.Replace(line("a", 1, `{"text":"x"}`), `"id"`, `"head":"`+strings.Repeat("a", 40)+`","id"`, 1)
	for _, text := range []string{strings.Repeat("0", 40), strings.Repeat("f", 40), strings.Repeat("g", 40), strings.Repeat("A", 40), strings.Repeat("a", 39), strings.Repeat("a", 41), "é" + strings.Repeat("a", 38)} {
		_, err := schema.DecodeEntry([]byte(strings.Replace(good, strings.Repeat("a", 40), text, 1)))
		if (err == nil) != head.MatchString(text) {
			t.Errorf("head %s: %v", text, err)
		}
	}
	for _, text := range []string{strings.Repeat("+", 80), strings.Repeat("/", 200), strings.Repeat("z9", 43), strings.Repeat("A", 79), strings.Repeat("A", 201), strings.Repeat("A", 85) + "=", strings.Repeat("-", 86)} {
		_, err := schema.DecodeEntry([]byte(strings.Replace(good, noSig, text, 1)))
		if (err == nil) != sig.MatchString(text) {
			t.Errorf("sig %s: %v", text, err)
		}
	}
}

// What is signed is the line without its end: so the signature is the last
// field in the order of RFC 8785, and a new one must sort before it.
func TestSigIsTheLastField(t *testing.T) {
	var object map[string]any
	if err := json.Unmarshal([]byte(line("a", 1, "{}")), &object); err != nil {
		t.Fatal(err)
	}
	for _, kind := range schema.RecordKinds {
		for _, e := range frozenRecord(t, kind).Entries {
			if err := json.Unmarshal(e.Raw(), &object); err != nil {
				t.Fatal(err)
			}
		}
	}
	var keys []string
	for key := range object {
		keys = append(keys, key)
	}
	fields := reflect.TypeFor[schema.Entry]()
	written := 0
	for i := range fields.NumField() {
		if f := fields.Field(i); f.IsExported() && f.Name != "Rank" {
			written++
		}
	}
	if len(keys) != written {
		t.Errorf("%d fields in a line, %d in an entry: a new one is not in the examples", len(keys), written)
	}
	if last := slices.Max(keys); last != "sig" {
		t.Errorf("%s sorts behind sig", last)
	}
}

// Any change of what was seen, of the place or of the line changes the message.
func TestMessageHoldsEverything(t *testing.T) {
	first := wrote(t, "bay-1", "01A", 1)
	e, err := schema.DecodeEntry([]byte(`{"after":["01A"],"at":"2026-03-02T09:00:00Z","by":"tech-1","counter":2,"data":{"text":"x"},"device":"bay-1","entered":"2026-03-02T09:00:00Z","id":"01C","kind":"note"}`))
	if err != nil {
		t.Fatal(err)
	}
	message := func(s schema.Scope, seen ...schema.Entry) string {
		m, err := schema.HashesOf(s, seen).Sign(e)
		if err != nil {
			return err.Error()
		}
		return string(m)
	}
	changed, err := schema.DecodeEntry([]byte(strings.Replace(string(first.Raw()), "01A", "01B", 1)))
	if err != nil {
		t.Fatal(err)
	}
	changed.ID = "01A" // two contents under one id
	good := message(scope, first)
	for name, other := range map[string]string{
		"shop": message(schema.Scope{Shop: "SHA256:abd", Kind: scope.Kind, ID: scope.ID}, first), "kind": message(schema.Scope{Shop: scope.Shop, Kind: schema.PartRecord, ID: scope.ID}, first),
		"record": message(schema.Scope{Shop: scope.Shop, Kind: scope.Kind, ID: "car-2"}, first), "what was seen": message(scope, changed),
		"nothing seen": message(scope),
	} {
		if other == good {
			t.Errorf("another %s gives the same message", name)
		}
	}
	if got := message(scope); got != "entry 01C: rests on 01A, which is not in this record as it was seen" {
		t.Errorf("says %s", got)
	}
}

// A record that grew is read as if it were read anew, or refused as then.
func TestDecodeGrown(t *testing.T) {
	for _, kind := range schema.RecordKinds {
		whole := frozenRecord(t, kind)
		for n := range whole.Entries {
			older := schema.NewRecord(kind, whole.ID).With(whole.Entries[:n]...)
			got, err := schema.DecodeGrown(whole.Encode(), older)
			if err != nil || string(got.Encode()) != string(whole.Encode()) || len(got.Entries) != len(whole.Entries) {
				t.Fatalf("%s after %d entries: %v", kind, n, err)
			}
		}
	}
	one, two := line("a", 1, `{"text":"x"}`), line("b", 2, `{"text":"y"}`)
	older, err := schema.DecodeRecord([]byte(record(one)))
	if err != nil {
		t.Fatal(err)
	}
	for name, text := range map[string]string{
		"twice": record(one, one), "one id twice": record(one, line("a", 2, `{"text":"z"}`)), "cut": strings.TrimSuffix(record(one, two), "]}\n"), "spaces": record(one, " "+two),
		"dropped": record(two), "unknown field": record(one, strings.Replace(two, `"by"`, `"bye"`, 1)), "another record": strings.Replace(record(one), "gas-1", "gas-2", 1), "empty": record(""),
	} {
		got, err := schema.DecodeGrown([]byte(text), older)
		want, wanted := schema.DecodeRecord([]byte(text))
		if (err == nil) != (wanted == nil) || err != nil && err.Error() != wanted.Error() || string(got.Encode()) != string(want.Encode()) {
			t.Errorf("%s: says %v, read anew %v", name, err, wanted)
		}
	}
}
