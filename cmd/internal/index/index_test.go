package index

import (
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"feedproof/records"
	"feedproof/records/signature"
	"feedproof/schema"

	"github.com/google/go-cmp/cmp"
)

// world is an invented shop of a few cars, and a count of the records that
// were gathered from.
type world struct {
	write    func(records.Shown, schema.Data) ([]schema.Entry, error)
	t        testing.TB
	shop     *records.Shop
	put      func(id string, e schema.Entry) error
	gathered atomic.Int64
}

var moment = time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC)

func newWorld(t testing.TB, cars int) *world {
	t.Helper()
	key, _, err := signature.NewKey("", nil)
	must(t, err)
	shop, err := records.Create(t.TempDir(), records.CreateOptions{
		ID: "shop", Lead: schema.PersonData{Person: "lead-1", Name: "Robin Vale", Roles: []schema.Role{schema.Lead}}, Key: key,
		Device: records.Device{Name: "office"}, Now: func() time.Time { return moment },
	})
	must(t, err)
	w := &world{t: t, shop: shop, write: func(shown records.Shown, data schema.Data) ([]schema.Entry, error) {
		return shop.Write(shown, records.Fact{By: "lead-1", Key: key, Entered: moment, Data: data})
	}}
	w.put = func(id string, e schema.Entry) error {
		_, err := shop.Put(t.Context(), schema.VehicleRecord, id, "lead-1", key, e)
		return err
	}
	for i := range cars {
		w.note(fmt.Sprintf("car-%02d", i), "first")
	}
	return w
}

// note adds an entry to a car.
func (w *world) note(id, text string) {
	w.t.Helper()
	shown, err := w.shop.Show(schema.VehicleRecord, id)
	must(w.t, err)
	written, err := w.write(shown, schema.NoteData{Text: text})
	must(w.t, err)
	must(w.t, w.put(id, written[0]))
}

// gather puts the texts of a car's notes into one table and leaves the other
// empty.
func (w *world) gather(r schema.Record) (map[string][]byte, error) {
	w.gathered.Add(1)
	var text []byte
	for _, e := range r.Entries {
		d, err := schema.Into[schema.NoteData](e)
		if err != nil {
			return nil, err
		}
		text = append(text, d.Text+"\n"...)
	}
	return map[string][]byte{"notes": text, "nothing": nil}, nil
}

func (w *world) file() string { return filepath.Join(w.shop.Dir(), "cache", "facts.db") }

// ask reads a table through a new index, and says how many records it gathered
// from.
func (w *world) ask(table, program string) (map[string]string, int64) {
	w.t.Helper()
	before := w.gathered.Load()
	view, err := w.shop.View()
	must(w.t, err)
	got := map[string]string{}
	x := New(view, Options{File: w.file(), Program: program, Gather: w.gather})
	must(w.t, x.Table(schema.VehicleRecord, table, func(r Row) error {
		got[r.ID] = string(r.Facts)
		return nil
	}))
	return got, w.gathered.Load() - before
}

func must(t testing.TB, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

func TestOnlyChangedRecordsAreRead(t *testing.T) {
	w := newWorld(t, 5)
	first, read := w.ask("notes", "one")
	if read != 5 || len(first) != 5 {
		t.Errorf("first: %d records read, %d rows; want 5 and 5", read, len(first))
	}
	if _, read := w.ask("notes", "one"); read != 0 {
		t.Errorf("again: %d records read, want none", read)
	}
	if got, read := w.ask("nothing", "one"); read != 0 || len(got) != 0 {
		t.Errorf("an empty table: %d records read, %d rows; want none", read, len(got))
	}
	w.note("car-03", "second")
	got, read := w.ask("notes", "one")
	if read != 1 || got["car-03"] != "first\nsecond\n" {
		t.Errorf("after a change: %d records read, want 1; car-03 %q", read, got["car-03"])
	}
	w.note("car-05", "new")
	if got, read := w.ask("notes", "one"); read != 1 || len(got) != 6 {
		t.Errorf("after a new car: %d records read, %d rows; want 1 and 6", read, len(got))
	}
	if _, read := w.ask("notes", "two"); read != 6 {
		t.Errorf("another program: %d records read, want all 6", read)
	}
}

// TestNeighboursAreNotReadAgain changes a record whose folder holds others.
func TestNeighboursAreNotReadAgain(t *testing.T) {
	w := newWorld(t, 60) // in 256 folders: two of them share one
	w.ask("notes", "one")
	view, err := w.shop.View()
	must(t, err)
	folders, err := view.Folders(schema.VehicleRecord)
	must(t, err)
	shared := 0
	for _, f := range folders {
		files, err := view.Files(f)
		must(t, err)
		if len(files) < 2 {
			continue
		}
		shared++
		w.note(files[0].ID, "second")
		got, read := w.ask("notes", "one")
		if read != 1 || len(got) != 60 || got[files[0].ID] != "first\nsecond\n" || got[files[1].ID] != "first\n" {
			t.Errorf("%s changed in %s: %d records read, %d rows, %q and %q", files[0].ID, f.Path, read, len(got), got[files[0].ID], got[files[1].ID])
		}
	}
	if shared == 0 {
		t.Error("no folder holds two cars")
	}
}

func TestUnknownTable(t *testing.T) {
	w := newWorld(t, 1)
	view, err := w.shop.View()
	must(t, err)
	x := New(view, Options{File: w.file(), Program: "one", Gather: w.gather})
	if err := x.Table(schema.VehicleRecord, "other", func(Row) error { return nil }); err == nil {
		t.Error("a table that nobody gathers is no error")
	}
}

// TestCacheIsNeverTheTruth damages the file in every way that comes to mind:
// the answer stays the same, and so it does when a record changed since.
func TestCacheIsNeverTheTruth(t *testing.T) {
	w := newWorld(t, 5)
	want, _ := w.ask("notes", "one")
	whole, err := os.ReadFile(w.file())
	must(t, err)
	w.damage(whole, want)
	w.note("car-03", "second")
	must(t, os.Remove(w.file()))
	after, read := w.ask("notes", "one")
	if read != 5 || after["car-03"] != "first\nsecond\n" {
		t.Fatalf("with no file: %d records read, want 5; car-03 %q", read, after["car-03"])
	}
	w.damage(whole, after)
}

// damage asks with a file that was damaged in every way.
func (w *world) damage(whole []byte, want map[string]string) {
	t := w.t
	check := func(name string, content []byte) {
		t.Helper()
		must(t, os.WriteFile(w.file(), content, 0o644))
		for _, again := range []string{"", ", again"} {
			got, _ := w.ask("notes", "one")
			if diff := cmp.Diff(want, got); diff != "" {
				t.Fatalf("%s%s:\n%s", name, again, diff)
			}
		}
	}
	check("empty", nil)
	check("text", []byte("this is no cache"))
	for _, size := range []int{1, 1000, 4096, 8192, len(whole) / 2, len(whole) - 1} {
		check(fmt.Sprintf("cut to %d", size), whole[:size])
	}
	seed := rand.New(rand.NewPCG(1, 2))
	for range 300 {
		bad := append([]byte(nil), whole...)
		at := seed.IntN(len(bad))
		bad[at] ^= byte(1 << seed.IntN(8))
		check(fmt.Sprintf("bit at %d", at), bad)
	}
	for page := 0; page < len(whole); page += 4096 {
		bad := append([]byte(nil), whole...)
		for i := page; i < min(page+4096, len(bad)); i++ {
			bad[i] = byte(seed.Uint32())
		}
		check(fmt.Sprintf("noise at %d", page), bad)
	}
}

// TestNoPlaceForTheCache puts a file where the folder should be.
func TestNoPlaceForTheCache(t *testing.T) {
	w := newWorld(t, 3)
	must(t, os.WriteFile(filepath.Dir(w.file()), []byte("in the way"), 0o644))
	for range 2 {
		if got, read := w.ask("notes", "one"); len(got) != 3 || read != 3 {
			t.Errorf("%d rows from %d records, want 3 from 3", len(got), read)
		}
	}
}

func TestManyAtOnce(t *testing.T) {
	w := newWorld(t, 8)
	want, _ := w.ask("notes", "zero")
	var all sync.WaitGroup
	for i := range 6 {
		all.Go(func() {
			for n := range 5 {
				shop, err := records.Open(w.shop.Dir())
				if err != nil {
					t.Error(err)
					return
				}
				other := &world{t: t, shop: shop}
				got, _ := other.ask("notes", fmt.Sprint("program ", (i+n)%2))
				if diff := cmp.Diff(want, got); diff != "" {
					t.Error(diff)
				}
			}
		})
	}
	all.Wait()
}

// TestOldFactsGo holds that the cache follows the size of the shop, not of its
// history.
func TestOldFactsGo(t *testing.T) {
	w := newWorld(t, 1)
	var sizes []int64
	for i := range 60 {
		w.note("car-00", fmt.Sprint("note ", i))
		got, read := w.ask("notes", "one")
		if read != 1 || len(got) != 1 {
			t.Fatalf("%d records read, %d rows", read, len(got))
		}
		info, err := os.Stat(w.file())
		must(t, err)
		sizes = append(sizes, info.Size())
	}
	if last, early := sizes[len(sizes)-1], sizes[20]; last > 2*early {
		t.Errorf("the cache grew from %d to %d bytes in 40 changes of one record", early, last)
	}
}
