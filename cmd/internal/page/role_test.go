package page

import (
	"strings"
	"testing"
	"time"

	"feedproof/cmd/internal/desk"
	"feedproof/cmd/internal/desktest"
	"feedproof/cmd/internal/language"
	"feedproof/schema"
)

// An act with a role wants the passphrase before it, once for each; a plain fact
// does not.
func TestRoleAsksAgain(t *testing.T) {
	d := desktest.At(t, desktest.Shop(t), "lead-1")
	c, err := d.Car("kestrel")
	if err != nil {
		t.Fatal(err)
	}
	at, err := d.Bench(c, "")
	if err != nil {
		t.Fatal(err)
	}
	s := &seat{person: desk.Person{ID: "lead-1"}}
	b := bench{at, s, language.In("en"), d.Now}
	reopen := schema.HoldPointData{Point: "HP0", Action: schema.ReopenPoint, Why: "under discussion"}
	for i, c := range []struct {
		proved time.Time
		act    schema.Data
		asks   bool
	}{
		{time.Time{}, schema.NoteData{Text: "seen"}, false},
		{time.Time{}, reopen, true},
		{d.Now().Add(-3 * time.Minute), reopen, true},
		{d.Now().Add(-time.Minute), reopen, false},
	} {
		s.proved = c.proved
		_, err := b.Record(d.Now(), c.act)
		asked := err != nil && strings.Contains(err.Error(), "type your passphrase")
		if asked != c.asks || err != nil && !asked {
			t.Errorf("%d: %v, want asked %v", i, err, c.asks)
		}
	}
	if !s.proved.IsZero() {
		t.Error("one passphrase holds for two acts")
	}
}
