package records

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"feedproof/schema"

	"github.com/go-git/go-git/v5/plumbing"
	"github.com/go-git/go-git/v5/plumbing/object"
	"github.com/go-git/go-git/v5/storage/memory"
	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

// clone is a copy of the shop on another machine, with the same people.
func (w *world) clone() *world {
	w.t.Helper()
	dir := w.t.TempDir()
	must(w.t, os.CopyFS(filepath.Join(dir, "shop"), os.DirFS(w.dir)))
	other := &world{t: w.t, dir: filepath.Join(dir, "shop"), keys: w.keys}
	var err error
	other.shop, err = Open(other.dir)
	must(w.t, err)
	return other
}

// copy is a clone on a disk in memory, where syncing costs nothing.
func (b base) copy() *world {
	b.t.Helper()
	memory := b.memory.Crash(func() bool { return true })
	dir := b.t.TempDir()
	for _, below := range []string{gitDir, draftsDir} {
		must(b.t, os.Mkdir(filepath.Join(dir, below), 0o755))
	}
	shop, err := open(dir, memory)
	must(b.t, err)
	return &world{t: b.t, dir: dir, shop: shop, keys: b.keys}
}

// committed is the notes in a car's record.
func (w *world) committed(car string) []string {
	w.t.Helper()
	r, err := w.shop.Record(schema.VehicleRecord, car)
	must(w.t, err)
	return notes(w.t, r.Entries)
}

// fetch copies the objects of another shop and says where it is.
func (w *world) fetch(from *world) string {
	w.t.Helper()
	all, err := from.shop.store.IterEncodedObjects(plumbing.AnyObject)
	must(w.t, err)
	must(w.t, all.ForEach(func(o plumbing.EncodedObject) error {
		_, err := w.shop.store.SetEncodedObject(o)
		return err
	}))
	head, err := from.shop.head()
	must(w.t, err)
	return head.String()
}

func (w *world) merge(from *world) (MergeResult, error) {
	w.t.Helper()
	return w.shop.Merge(context.Background(), MergeRequest{Other: w.fetch(from), By: "tech-1", Key: w.keys["tech-1"], Now: clock})
}

// add commits a note.
func (w *world) add(car, text string) {
	w.t.Helper()
	w.note(car, text)
	_, err := w.commit(car)
	must(w.t, err)
}

func (w *world) tree() plumbing.Hash {
	w.t.Helper()
	snap, _, err := w.shop.snapshot()
	must(w.t, err)
	return snap.root
}

func TestMergeOfTwoBays(t *testing.T) {
	one := newShop(t)
	one.vehicle("car-1")
	one.vehicle("car-2")
	two := one.clone()
	one.add("car-1", "pump whines")
	two.add("car-1", "hose is wet")
	two.add("car-2", "filter is black")

	joined, err := one.merge(two)
	must(t, err)
	if !joined.Merged || joined.Incoming != 2 {
		t.Errorf("merge says %+v", joined)
	}
	got := one.committed("car-1")
	slices.Sort(got)
	if diff := cmp.Diff([]string{"hose is wet", "pump whines"}, got); diff != "" {
		t.Error(diff)
	}
	moved, err := two.merge(one)
	must(t, err)
	if moved.Merged || one.tree() != two.tree() {
		t.Errorf("the second bay is elsewhere: %+v", moved)
	}
	again, err := one.merge(two)
	must(t, err)
	if again.Incoming != 0 || again.Merged {
		t.Errorf("merging again says %+v", again)
	}
	for _, w := range []*world{one, two} {
		if _, err := w.shop.Verify(context.Background(), nil); err != nil {
			t.Error(err)
		}
		fsck(t, filepath.Join(w.dir, gitDir))
	}
}

func TestMergeRefusesWhatDoesNotVerify(t *testing.T) {
	for _, try := range []struct {
		name  string
		forge func(ours, theirs *world)
		says  string
	}{
		{"an edited entry", func(_, theirs *world) {
			theirs.rewrite("lead-1", theirs.keys["lead-1"], schema.VehicleRecord, "car-1", func(r schema.Record) []byte {
				return []byte(strings.Replace(string(r.Encode()), "whines", "sings.", 1))
			})
		}, "changes the note"},
		{"a stranger's commit", func(ours, theirs *world) {
			theirs.forge("lead-1", newKey(theirs.t), func(root plumbing.Hash) plumbing.Hash { return root })
		}, "nobody's"},
		{"one id for two entries", func(ours, theirs *world) {
			e := ours.note("car-1", "pump whines again")
			seen, err := theirs.shop.Show(schema.VehicleRecord, "car-1")
			must(ours.t, err)
			other, err := theirs.shop.Write(seen, Fact{ID: e.ID, By: "tech-1", Key: theirs.keys["tech-1"], Entered: moment, Data: schema.NoteData{Text: "pump is quiet"}})
			must(ours.t, err)
			must(ours.t, theirs.shop.Append("car-1", other[0]))
			for _, w := range []*world{ours, theirs} {
				_, err := w.commit("car-1")
				must(w.t, err)
			}
		}, "has different bytes"},
	} {
		t.Run(try.name, func(t *testing.T) {
			ours := newShop(t)
			ours.vehicle("car-1")
			ours.add("car-1", "pump whines")
			theirs := ours.clone()
			try.forge(ours, theirs)
			before, err := ours.shop.head()
			must(t, err)
			if _, err := ours.merge(theirs); err == nil || !strings.Contains(err.Error(), try.says) {
				t.Errorf("merge says %v, want %q", err, try.says)
			}
			if after, _ := ours.shop.head(); after != before {
				t.Error("a refused merge moved the shop")
			}
		})
	}
}

func TestMergeRefusesAnotherShop(t *testing.T) {
	ours, theirs := newShop(t), newShop(t)
	theirs.shop.device.Pinned = ""
	ours.shop.device.Pinned = ""
	var fault *VerifyError
	if _, err := ours.merge(theirs); !errors.As(err, &fault) || !strings.Contains(err.Error(), "begins another shop") {
		t.Errorf("merge says %v", err)
	}
}

// Over every shape of history that a few machines can make, all end up alike, with every note, and the history verifies.
func TestMergesOfAnyShapeAgree(t *testing.T) {
	t.Parallel()
	first := newBase(t)
	first.vehicle("car-2")
	rapid.Check(t, func(rt *rapid.T) {
		machines := []*world{first.copy(), first.copy(), first.copy()}
		var written []string
		var drawn strings.Builder
		for i := range rapid.IntRange(1, 8).Draw(rt, "steps") {
			m := rapid.IntRange(0, 2).Draw(rt, "machine")
			if rapid.Bool().Draw(rt, "merge") {
				from := (m + rapid.IntRange(1, 2).Draw(rt, "from")) % 3
				fmt.Fprintf(&drawn, "%d <- %d\n", m, from)
				if _, err := machines[m].merge(machines[from]); err != nil {
					rt.Fatalf("%v after\n%s", err, &drawn)
				}
				continue
			}
			text := fmt.Sprintf("note %d", i)
			fmt.Fprintf(&drawn, "%d: %s\n", m, text)
			machines[m].add(fmt.Sprintf("car-%d", i%2+1), text)
			written = append(written, text)
		}
		for _, pair := range [][2]int{{0, 1}, {0, 2}, {1, 0}, {2, 0}} {
			if _, err := machines[pair[0]].merge(machines[pair[1]]); err != nil {
				rt.Fatalf("%v at the end of\n%s", err, &drawn)
			}
		}
		for i, m := range machines {
			if m.tree() != machines[0].tree() {
				rt.Fatalf("machine %d differs after\n%s", i, &drawn)
			}
		}
		got := slices.Concat(machines[0].committed("car-1"), machines[0].committed("car-2"))
		slices.Sort(got)
		slices.Sort(written)
		if diff := cmp.Diff(written, got); diff != "" {
			rt.Fatalf("%s after\n%s", diff, &drawn)
		}
		if _, err := machines[0].shop.Verify(context.Background(), nil); err != nil {
			rt.Fatalf("%v after\n%s", err, &drawn)
		}
	})
}

// The union of trees is commutative, associative and idempotent.
func TestMergeOfTreesIsAUnion(t *testing.T) {
	var pool []schema.Entry
	for i := range 12 {
		e, err := schema.NewEntry(schema.Origin{By: "tech-1", Device: "bay-1", Counter: int64(i/3 + 1), Entered: moment}, schema.NoteData{Text: fmt.Sprint(i)})
		must(t, err)
		pool = append(pool, e)
	}
	rapid.Check(t, func(rt *rapid.T) {
		store := memory.NewStorage()
		shop := func(name string) plumbing.Hash {
			var root plumbing.Hash
			for car := range 3 {
				chosen := rapid.SliceOfDistinct(rapid.IntRange(0, 11), func(i int) int { return i }).Draw(rt, fmt.Sprintf("%s car %d", name, car))
				if len(chosen) == 0 {
					continue
				}
				r := schema.NewRecord(schema.VehicleRecord, fmt.Sprintf("car-%d", car))
				for _, i := range chosen {
					r = r.With(pool[i])
				}
				p, err := recordPath(r.Kind, r.ID)
				must(t, err)
				blob, err := writeBlob(store, r.Encode())
				must(t, err)
				root, err = writeFile(store, root, p, blob)
				must(t, err)
			}
			return root
		}
		merge := func(a, b plumbing.Hash) plumbing.Hash {
			joined, err := mergeTrees(store, "", plumbing.ZeroHash, a, b)
			must(t, err)
			return joined
		}
		a, b, c := shop("a"), shop("b"), shop("c")
		if merge(a, b) != merge(b, a) {
			rt.Fatal("not commutative")
		}
		if merge(merge(a, b), c) != merge(a, merge(b, c)) {
			rt.Fatal("not associative")
		}
		if merge(a, a) != a || merge(merge(a, b), b) != merge(a, b) {
			rt.Fatal("not idempotent")
		}
	})
}

// What is equal on both sides is not read: its objects may be missing.
func TestMergeLooksAtWhatDiffersAlone(t *testing.T) {
	store := memory.NewStorage()
	same := object.TreeEntry{Name: "same", Mode: 0o040000, Hash: plumbing.NewHash("1111111111111111111111111111111111111111")}
	blob, err := writeBlob(store, []byte("x"))
	must(t, err)
	tree := func(entries ...object.TreeEntry) plumbing.Hash {
		h, err := writeTree(store, entries)
		must(t, err)
		return h
	}
	left, right := object.TreeEntry{Name: "left", Mode: 0o100644, Hash: blob}, object.TreeEntry{Name: "right", Mode: 0o100644, Hash: blob}
	joined, err := mergeTrees(store, "", plumbing.ZeroHash, tree(left, same), tree(right, same))
	must(t, err)
	if joined != tree(left, right, same) {
		t.Error("the union is wrong")
	}
}
