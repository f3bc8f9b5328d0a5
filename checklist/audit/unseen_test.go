package audit

import (
	"testing"
	"time"

	"feedproof/schema"

	"github.com/google/go-cmp/cmp"
)

// elsewhere adds an entry of another machine that knew only the first entries
// of the car.
func (b *book) elsewhere(device string, knew int, data schema.Data) *book {
	b.shop.t.Helper()
	r := b.shop.records[b.kind][b.id]
	heads := schema.Heads(r.Entries[:knew])
	e, err := schema.NewEntry(schema.Origin{By: b.by, Device: device, After: heads, Counter: schema.NextCounter(r.Entries[:knew], heads), At: b.at, Entered: b.at}, data)
	if err != nil {
		b.shop.t.Fatal(err)
	}
	b.last = e.ID
	b.shop.records[b.kind][b.id] = r.With(e)
	return b
}

// What a bay wrote that did not know of the sign-off is listed, and what the
// sign-off had seen, or what had seen it, is not. It is an edit after the
// sign-off too, though its number is lower. Source: what was seen, by hand.
func TestUnseenBySignOff(t *testing.T) {
	s := newShop(t)
	c := s.car("finch", "FN 1").on(day).as("tech-1").open("1", 10).read("base", "", "", "rail 3.00 bar")
	c.on(day + time.Hour).signed("lead-1")
	c.on(day + 2*time.Hour).as("tech-1").add(schema.NoteData{Text: "washed"})
	c.on(day+30*time.Minute).as("tech-2").elsewhere("bay-3", 2, schema.StepData{Step: "B12", State: schema.StepDone, Joint: "rail"})
	if rows := s.ask(3*day, "unseen"); len(rows) != 1 {
		t.Fatalf("rows %v", rows)
	}
	a := s.answer(3*day, "unseen")
	if len(a.Rows[0].Entries) != 2 || a.Rows[0].Entries[1] != c.last {
		t.Errorf("rests on %v, want the sign-off and %s", a.Rows[0].Entries, c.last)
	}
	if rows := s.ask(3*day, "edits"); len(rows) != 1 {
		t.Errorf("edits %v", rows)
	}
	if diff := cmp.Diff(any("step"), a.Rows[0].Cells[len(a.Rows[0].Cells)-2]); diff != "" {
		t.Error(diff)
	}
}
