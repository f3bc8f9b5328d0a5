package schema

import (
	"bytes"
	"os"
	"path/filepath"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// TestReadCommittedIsDecodeRecord reads every frozen record both ways, as it
// stands and cut at every line.
func TestReadCommittedIsDecodeRecord(t *testing.T) {
	found, err := filepath.Glob("../testdata/formats/v1/*.json")
	if err != nil || len(found) == 0 {
		t.Fatalf("no frozen records: %v", err)
	}
	for _, path := range found {
		text, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		sameReading(t, text)
		for cut := range bytes.Count(text, []byte("\n")) {
			lines := bytes.SplitAfter(text, []byte("\n"))
			sameReading(t, bytes.Join(lines[:cut], nil))
			sameReading(t, bytes.Join(append(lines[:cut:cut], lines[cut+1:]...), nil))
		}
	}
}

func sameReading(t *testing.T, text []byte) {
	t.Helper()
	want, wantErr := DecodeRecord(text)
	got, gotErr := ReadCommitted(text)
	if (wantErr == nil) != (gotErr == nil) {
		t.Fatalf("%.80s: %v, want %v", text, gotErr, wantErr)
	}
	if diff := cmp.Diff(want, got, cmp.AllowUnexported(Record{}, Entry{})); diff != "" {
		t.Fatalf("%.80s: %s", text, diff)
	}
}

// FuzzReadCommitted holds that whatever DecodeRecord accepts reads the same.
func FuzzReadCommitted(f *testing.F) {
	found, err := filepath.Glob("../testdata/formats/v1/*.json")
	if err != nil || len(found) == 0 {
		f.Fatalf("no frozen records: %v", err)
	}
	for _, path := range found {
		text, err := os.ReadFile(path)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text []byte) {
		want, err := DecodeRecord(text)
		if err != nil {
			return
		}
		got, err := ReadCommitted(text)
		if err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff(want, got, cmp.AllowUnexported(Record{}, Entry{})); diff != "" {
			t.Fatal(diff)
		}
	})
}
