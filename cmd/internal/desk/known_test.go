package desk_test

import (
	"errors"
	"strings"
	"testing"

	"feedproof/cmd/internal/desk"
	"feedproof/cmd/internal/desktest"
	"feedproof/schema"
)

// A car as it was known then has no draft, and says by what that was decided.
func TestAsKnown(t *testing.T) {
	d := desktest.At(t, desktest.Shop(t), "tech-1")
	c, err := d.Car("kestrel")
	if err != nil {
		t.Fatal(err)
	}
	if _, err := d.Record(c, desktest.Now, schema.NoteData{Text: "looked"}); err != nil {
		t.Fatal(err)
	}
	if c, err = d.Car("kestrel"); err != nil || len(c.Draft) != 1 {
		t.Fatalf("draft of %d, %v", len(c.Draft), err)
	}
	view, err := d.View()
	if err != nil {
		t.Fatal(err)
	}
	for _, x := range []struct {
		at      string
		entries int
		said    string
	}{
		{view.Commit(), len(c.Record.Entries), "those that commit " + view.Commit()[:12] + " held"},
		{"2020-01-01", 0, "kestrel: "},
		{"2026-03-02T10:00:00Z", len(c.Record.Entries) + 1, "kestrel: "},
	} {
		then, said, err := d.AsKnown(c, x.at)
		if err != nil || len(then.Record.Entries) != x.entries || len(then.Draft) != 0 || !strings.Contains(said, x.said) {
			t.Errorf("%s: %d entries, draft of %d, %q, %v; want %d", x.at, len(then.Record.Entries), len(then.Draft), said, err, x.entries)
		}
	}
	for _, at := range []string{"soon", "0123456789"} {
		var got *desk.Error
		if _, _, err := d.AsKnown(c, at); !errors.As(err, &got) || got.Kind != desk.Usage || got.Mend == "" {
			t.Errorf("%s: %v", at, err)
		}
	}
}
