package cli

import (
	"context"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"feedproof/cmd/internal/desk"
	"feedproof/cmd/internal/desktest"
	"feedproof/cmd/internal/terminal"
	"feedproof/schema"
)

func TestMergeDriverOptions(t *testing.T) {
	fills(t, newMergeDriverCommand,
		line[mergeDriverOptions]{args: "b|o|t", want: mergeDriverOptions{"b", "o", "t"}},
		line[mergeDriverOptions]{args: "b|o", fault: "THEIRS: is missing"},
	)
}

// Two lines that went on from one record are one record with the entries of
// both.
func TestRunMergeDriver(t *testing.T) {
	away := t.TempDir()
	d := desktest.At(t, desktest.Shop(t), "tech-1")
	c, err := d.Car("kestrel")
	if err != nil {
		t.Fatal(err)
	}
	lines := map[string]schema.Record{"base": c.Record}
	for _, name := range []string{"ours", "theirs"} {
		done, err := d.Record(c, d.Now(), schema.NoteData{Text: name})
		if err != nil {
			t.Fatal(err)
		}
		lines[name] = c.Record.With(done.Entry)
	}
	for name, r := range lines {
		write(t, filepath.Join(away, name), r.Encode())
	}
	run := func(o mergeDriverOptions) error {
		return runMergeDriver(context.Background(), outside{folder: folder(away)}, terminal.New(io.Discard, io.Discard, terminal.Options{}), o)
	}
	if err := run(mergeDriverOptions{"base", "ours", "theirs"}); err != nil {
		t.Fatal(err)
	}
	merged, err := os.ReadFile(filepath.Join(away, "ours"))
	if err != nil {
		t.Fatal(err)
	}
	r, err := schema.ReadCommitted(merged)
	if err != nil || len(r.Entries) != len(c.Record.Entries)+2 {
		t.Errorf("%v: %d entries, want the two of both lines more than %d", err, len(r.Entries), len(c.Record.Entries))
	}
	write(t, filepath.Join(away, "ours"), []byte("no record"))
	if err := run(mergeDriverOptions{"base", "ours", "theirs"}); desk.Explain(err).Kind != desk.Failed || !strings.HasPrefix(err.Error(), "merge: ") {
		t.Errorf("%v, want that it is no record", err)
	}
	if err := run(mergeDriverOptions{"base", "none", "theirs"}); !os.IsNotExist(err) {
		t.Errorf("%v, want that there is no such file", err)
	}
}
