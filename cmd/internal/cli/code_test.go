package cli

import (
	"context"
	"testing"

	"feedproof/cmd/internal/desk"
	"feedproof/cmd/internal/desktest"
	"feedproof/cmd/internal/sheets"
	"feedproof/cmd/internal/terminal"
)

// A code belongs to one state of one record: to that after an entry, until the
// next one comes.
func TestCheckCode(t *testing.T) {
	type asked struct{ car, code string }
	run := func(_ context.Context, d *desk.Desk, out *terminal.Screen, o asked) error {
		return checkCode(d, out, o.car, o.code)
	}
	dir := desktest.Shop(t)
	c, err := desktest.At(t, dir, "tech-1").Car("kestrel")
	if err != nil {
		t.Fatal(err)
	}
	code := sheets.Code(c.Whole().Entries)
	says(t, dir, "tech-1", run, asked{"kestrel", " " + code}, "as it stood after 2 entries\n")
	says(t, dir, "tech-1", runNote, noteOptions{car: "kestrel", words: []string{"more"}}, "kestrel #3")
	says(t, dir, "tech-1", run, asked{"kestrel", code}, "as it stood after 2 entries\n", "1 entry came after it: a new sheet is due: feedproof sheet kestrel")
	if c, err = desktest.At(t, dir, "tech-1").Car("kestrel"); err != nil {
		t.Fatal(err)
	}
	says(t, dir, "tech-1", run, asked{"kestrel", sheets.Code(c.Whole().Entries)}, "after 3 entries\n", "some of them are not committed on this machine yet")
	answers(t, dir, "tech-1", run, asked{"kestrel", code}, "vehicle", "code", "entries", "since", "draft")
	refuses(t, dir, "tech-1", run, asked{"", code}, desk.Usage, "of which car")
	refuses(t, dir, "tech-1", run, asked{"kestrel", "0000-0000-0000-0000"}, desk.NotProven, "belongs to no state of the record of kestrel")
}
