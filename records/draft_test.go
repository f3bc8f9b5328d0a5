package records

import (
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"feedproof/schema"

	"github.com/google/go-cmp/cmp"
)

func TestBrokenLastLineIsKeptAside(t *testing.T) {
	w := newShop(t)
	w.vehicle("car-1")
	whole := w.note("car-1", "pump whines")
	file := filepath.Join(w.dir, draftPath("car-1"))
	content, err := os.ReadFile(file)
	must(t, err)
	torn := string(content[:len(content)/2])
	must(t, os.WriteFile(file, append(content, torn...), 0o644))

	draft, err := w.shop.Draft("car-1")
	must(t, err)
	if diff := cmp.Diff([]string{"pump whines"}, notes(t, draft)); diff != "" {
		t.Error(diff)
	}
	wantTorn := func(when string) {
		t.Helper()
		broken, err := w.shop.Torn("car-1")
		must(t, err)
		if diff := cmp.Diff([]string{torn}, broken); diff != "" {
			t.Errorf("%s: %s", when, diff)
		}
	}
	wantTorn("before")
	w.note("car-1", "hose is wet")
	draft, err = w.shop.Draft("car-1")
	must(t, err)
	if diff := cmp.Diff([]string{"pump whines", "hose is wet"}, notes(t, draft)); diff != "" {
		t.Error(diff)
	}
	done, err := w.commit("car-1")
	must(t, err)
	if !holds(done.Record, whole) || len(done.Added) != 2 {
		t.Errorf("%d entries were committed, want 2 with %s", len(done.Added), whole.ID)
	}
	wantTorn("after the commit")
	if vehicles, err := w.shop.Drafts(); err != nil || len(vehicles) != 0 {
		t.Errorf("drafts of %v, %v", vehicles, err)
	}
}

func TestCommitLeavesWhatCameMeanwhile(t *testing.T) {
	w := newShop(t)
	w.vehicle("car-1")
	w.note("car-1", "before")
	_, err := w.shop.Commit(t.Context(), CommitRequest{
		Vehicle: "car-1", By: "tech-1", Key: w.keys["tech-1"],
		Gate: func(schema.Record, schema.Shop) []schema.Finding { w.note("car-1", "meanwhile"); return nil },
	})
	must(t, err)
	draft, err := w.shop.Draft("car-1")
	must(t, err)
	if diff := cmp.Diff([]string{"meanwhile"}, notes(t, draft)); diff != "" {
		t.Error(diff)
	}
}

func TestChangedEntryInTheDraftIsRefused(t *testing.T) {
	w := newShop(t)
	w.vehicle("car-1")
	e := w.note("car-1", "pump whines")
	_, err := w.commit("car-1")
	must(t, err)
	changed, err := schema.DecodeEntry([]byte(strings.Replace(string(e.Raw()), "whines", "sings.", 1)))
	must(t, err)
	must(t, w.shop.Append("car-1", changed))
	_, err = w.commit("car-1")
	var conflict *ConflictError
	if !errors.As(err, &conflict) || conflict.Entry != e.ID {
		t.Errorf("commit says %v, want a conflict over %s", err, e.ID)
	}
}

func TestClockSetBackChangesNoOrder(t *testing.T) {
	w := newShop(t)
	w.vehicle("car-1")
	w.note("car-1", "first")
	counter, err := w.shop.NextCounter(schema.VehicleRecord, "car-1")
	must(t, err)
	back := moment.AddDate(-1, 0, 0)
	e, err := schema.NewEntry(schema.Origin{By: "tech-1", Device: "bay-1", Counter: counter, Entered: back}, schema.NoteData{Text: "second"})
	must(t, err)
	must(t, w.shop.Append("car-1", e))
	done, err := w.shop.Commit(t.Context(), CommitRequest{
		Vehicle: "car-1", By: "tech-1", Key: w.keys["tech-1"], Now: func() time.Time { return back },
	})
	must(t, err)
	if diff := cmp.Diff([]string{"first", "second"}, notes(t, done.Record.Entries)); diff != "" {
		t.Error(diff)
	}
	if _, err := w.shop.Verify(t.Context(), nil); err != nil {
		t.Error(err)
	}
}

func TestNamesThatAreNoVehicle(t *testing.T) {
	w := newShop(t)
	for _, name := range []string{"", "..", "../shop", "a/b", ".git", "x\x00", strings.Repeat("x", 65)} {
		if _, err := w.shop.Draft(name); err == nil {
			t.Errorf("draft of %q was read", name)
		}
		if err := w.shop.Append(name, schema.Entry{}); err == nil {
			t.Errorf("appended to %q", name)
		}
		if _, err := w.shop.Record(schema.VehicleRecord, name); err == nil {
			t.Errorf("record of %q was read", name)
		}
	}
}

// The counter of the last line is the highest of all; a record of another form is read whole.
func TestHighestCounter(t *testing.T) {
	w := newShop(t)
	w.vehicle("car-1")
	for _, n := range []int64{5, 3, 9, 9, 7} {
		must(t, w.shop.Append("car-1", w.plainNote("car-1", n)))
	}
	done, err := w.commit("car-1")
	must(t, err)
	if last, ok := lastCounter(done.Record.Encode()); !ok || last != 9 || last != done.Record.MaxCounter() {
		t.Errorf("last counter %d, %v, want 9", last, ok)
	}
	if next, err := w.shop.NextCounter(schema.VehicleRecord, "car-1"); err != nil || next != 10 {
		t.Errorf("next counter %d, %v, want 10", next, err)
	}
	for name, text := range map[string]string{
		"a later version": `{"record":"vehicle","version":99,"id":"x","entries":[` + "\n" + `{"counter":3}` + "\n]}\n",
		"another form":    `{"record":"vehicle","version":1,"id":"x","entries":[{"counter":3},{"counter":1}]}`,
		"no entries":      `{"record":"vehicle","version":1,"id":"x","entries":[` + "\n]}\n",
	} {
		if last, ok := lastCounter([]byte(text)); ok {
			t.Errorf("%s: taken for counter %d", name, last)
		}
	}
	if next, err := w.shop.NextCounter(schema.VehicleRecord, "new"); err != nil || next != 1 {
		t.Errorf("next counter of a new car %d, %v, want 1", next, err)
	}
}
