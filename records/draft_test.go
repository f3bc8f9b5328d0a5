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
	must(t, w.shop.appendLine(draftPath("car-1"), append(changed.Raw(), '\n')))
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
	back := moment.AddDate(-1, 0, 0)
	e, err := w.written("tech-1", schema.VehicleRecord, "car-1", back, schema.NoteData{Text: "second"})
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
