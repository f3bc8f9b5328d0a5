package schema

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
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
		if _, quick := readLines(text); !quick {
			t.Errorf("%s: is not read by lines", path)
		}
		sameReading(t, text)
		for cut := range bytes.Count(text, []byte("\n")) {
			lines := bytes.SplitAfter(text, []byte("\n"))
			sameReading(t, bytes.Join(lines[:cut], nil))
			sameReading(t, bytes.Join(append(lines[:cut:cut], lines[cut+1:]...), nil))
		}
	}
}

// TestOddLinesAreReadStrictly spoils a line in ways that a reader by positions
// could overlook.
func TestOddLinesAreReadStrictly(t *testing.T) {
	line := `{"at":"2026-03-02T10:00:00Z","by":"ana","counter":1,"data":{"text":"hose"},"device":"bay-1","entered":"2026-03-02T10:00:00Z","id":"N1","kind":"note"}`
	spoil := []struct{ was, is string }{
		{``, ``},
		{`"hose"`, `"a,\"device\":\"b"`},
		{`{"text":"hose"}`, `{"text":"hose","device":"x","entered":"y"}`},
		{`{"text":"hose"}`, `{"text":"hose"`},
		{`{"text":"hose"}`, ` {"text":"hose"}`},
		{`{"text":"hose"}`, `{"text":"hose"} `},
		{`{"text":"hose"}`, `{"text":"hose","text":"hose"}`},
		{`{"text":"hose"}`, "{\"text\":\"\xff\"}"},
		{`{"text":"hose"}`, `"hose"`},
		{`:1,`, `:01,`}, {`:1,`, `:+1,`}, {`:1,`, `:1.0,`}, {`:1,`, `:-1,`}, {`:1,`, `:99999999999999999999,`},
		{`"ana"`, `"a\u006ea"`}, {`"ana"`, `""`}, {`"ana"`, `"a/b"`}, {`"ana"`, `null`},
		{`"note"`, `"note","more":1`}, {`"note"`, `"note" `}, {`"note"`, `"note\n"`}, {`"note"`, `"N\u006fte"`},
		{`"kind"`, `"Kind"`}, {`"by"`, `"at"`},
		{`10:00:00Z`, `10:00:00,5Z`}, {`10:00:00Z`, `1:00:00Z`}, {`10:00:00Z`, `10:00:00.5+01:00`},
	}
	for _, s := range spoil {
		text := NewRecord(VehicleRecord, "car-1").head()
		text = append(text, "\n"+strings.Replace(line, s.was, s.is, 1)+"\n]}\n"...)
		sameReading(t, text)
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
