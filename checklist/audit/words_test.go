package audit

import (
	"encoding/json"
	"os"
	"path/filepath"
	"slices"
	"testing"

	"feedproof/schema"

	"github.com/google/go-cmp/cmp"
)

// walked are the texts of a value as encoding/json reads them.
func walked(key string, v any, out *[]string) {
	switch x := v.(type) {
	case string:
		*out = append(*out, key+"="+x)
	case []any:
		for _, y := range x {
			walked(key, y, out)
		}
	case map[string]any:
		for k, y := range x {
			walked(k, y, out)
		}
	}
}

func sameTexts(t *testing.T, data []byte) {
	t.Helper()
	var v any
	if err := json.Unmarshal(data, &v); err != nil {
		t.Fatal(err)
	}
	var want, got []string
	walked("", v, &want)
	texts(data, func(key, text []byte) { got = append(got, string(key)+"="+string(text)) })
	slices.Sort(want)
	slices.Sort(got)
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("%.200s: %s", data, diff)
	}
}

// TestTextsAreThoseOfEncodingJSON reads every frozen entry, and texts that are
// hard to read.
func TestTextsAreThoseOfEncodingJSON(t *testing.T) {
	found, err := filepath.Glob("../../testdata/formats/v1/*.json")
	if err != nil || len(found) == 0 {
		t.Fatalf("no frozen records: %v", err)
	}
	for _, path := range found {
		text, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		r, err := schema.DecodeRecord(text)
		if err != nil {
			t.Fatal(err)
		}
		for _, e := range r.Entries {
			sameTexts(t, e.Data)
		}
	}
	for _, hard := range []string{
		`{"a":"x\"y","b":"\\","c":"\u00e4:","d":["1","2",{"e":"f"}],"g":true,"h":1.5,"i":null,"j":""}`, `"alone"`, `{}`, `[]`, `{"a:":"b:"}`, `{ "a" : "b" }`,
	} {
		sameTexts(t, []byte(hard))
	}
}
