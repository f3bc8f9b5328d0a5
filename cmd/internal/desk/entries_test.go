package desk_test

import (
	"bytes"
	"errors"
	"fmt"
	"strings"
	"testing"

	"feedproof/cmd/internal/desk"
	"feedproof/cmd/internal/desktest"
	"feedproof/schema"
)

// note writes a note about a car down.
func note(t *testing.T, d *desk.Desk, car, text string) desk.Recorded {
	t.Helper()
	c, err := d.Car(car)
	if err != nil {
		t.Fatal(err)
	}
	done, err := d.Record(c, d.Now(), schema.NoteData{Text: text})
	if err != nil {
		t.Fatal(err)
	}
	return done
}

func TestEntry(t *testing.T) {
	d := desktest.At(t, desktest.Shop(t), "tech-1")
	note(t, d, "kestrel", "one")
	done := note(t, d, "kestrel", "two")
	c, e := done.Car, done.Entry
	for _, name := range []string{"last", "4", "#4", e.ID, strings.ToLower(e.ID[len(e.ID)-8:])} {
		if got, err := c.Entry(name); err != nil || got.ID != e.ID {
			t.Errorf("%s: %v %v, want %s", name, got.ID, err, e.ID)
		}
	}
	other := c.Draft[0]
	other.ID = schema.NewID(desktest.Now)
	twin := c
	twin.Draft = []schema.Entry{c.Draft[0], other} // two machines gave the same number
	for _, bad := range []struct {
		car        desk.Car
		name, says string
	}{{c, "9", "is not in the record"}, {c, e.ID[len(e.ID)-3:], "is not in the record"}, {c, "", "is not in the record"}, {desk.Car{}, "last", "is not in the record"}, {twin, "3", "could be "}} {
		if _, err := bad.car.Entry(bad.name); err == nil || !strings.Contains(err.Error(), bad.says) {
			t.Errorf("%q: %v, want %q", bad.name, err, bad.says)
		}
	}
}

// A file that stands in the record of another car is said and recorded: a photo
// belongs to one car.
func TestAttachSaysWhereElse(t *testing.T) {
	dir := desktest.Shop(t)
	lead := desktest.At(t, dir, "lead-1")
	if _, _, err := lead.AddCar(t.Context(), schema.VehicleData{Name: "osprey", Description: "blue van", RoadUse: schema.Yes, EmissionControlled: schema.NotKnown, TankEverFuelled: schema.Yes}); err != nil {
		t.Fatal(err)
	}
	var warned []string
	d, err := desk.Open(dir, desk.Options{Now: lead.Now, As: "tech-1", Warn: func(format string, args ...any) { warned = append(warned, fmt.Sprintf(format, args...)) }})
	if err != nil {
		t.Fatal(err)
	}
	attached := func(car string) schema.EvidenceData {
		c, err := d.Car(car)
		if err != nil {
			t.Fatal(err)
		}
		done, err := d.Attach(c, d.Now(), desk.File{Name: "list.csv", Type: "text/csv", Content: bytes.NewReader([]byte("a,b\n"))})
		if err != nil {
			t.Fatal(err)
		}
		data, err := schema.Into[schema.EvidenceData](done.Entry)
		if err != nil {
			t.Fatal(err)
		}
		return data
	}
	first := attached("kestrel")
	if len(first.Entries) != 0 || len(warned) != 0 {
		t.Errorf("%v, warned of %v: nobody else has it", first.Entries, warned)
	}
	if second := attached("osprey"); len(second.Entries) != 1 || second.SHA256 != first.SHA256 || len(warned) != 1 || !strings.Contains(warned[0], "the same file stands in the record of kestrel") {
		t.Errorf("%+v, warned of %v, want the entry of kestrel", second, warned)
	}
}

// A file that cannot be read whole is not recorded.
func TestAttachOfBrokenContent(t *testing.T) {
	d := desktest.At(t, desktest.Shop(t), "tech-1")
	c, err := d.Car("kestrel")
	if err != nil {
		t.Fatal(err)
	}
	_, err = d.Attach(c, d.Now(), desk.File{Name: "cut.jpg", Content: bytes.NewReader([]byte("\xff\xd8\xff"))})
	var own *desk.Error
	if !errors.As(err, &own) || own.Thing != "cut.jpg" {
		t.Errorf("%v, want what is wrong with cut.jpg", err)
	}
	if draft, err := d.Draft(c.ID); err != nil || len(draft) != 0 {
		t.Errorf("%v: %d entries", err, len(draft))
	}
}
