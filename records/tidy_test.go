package records

import (
	"context"
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"feedproof/records/internal/gitfs"
	"feedproof/records/internal/gitfstest"
	"feedproof/records/internal/packs"
	"feedproof/schema"

	"github.com/go-git/go-git/v5/plumbing"
)

// busyShop is one with some cars, their commits and a few files.
func busyShop(w *world, cars, commits int) (evidence []string) {
	w.t.Helper()
	for i := range cars {
		w.vehicle(carName(i))
	}
	return w.work(cars, commits)
}

// work is some commits to cars that are there, with a file now and then.
func (w *world) work(cars, commits int) (evidence []string) {
	w.t.Helper()
	for n := range commits {
		id := carName(n % cars)
		w.note(id, fmt.Sprintf("note %d: %s", n, strings.Repeat("words that nobody reads twice ", n%7)))
		if n%5 == 0 {
			seen, err := w.shop.Show(schema.VehicleRecord, id)
			must(w.t, err)
			content, sum := file(20_000+n, uint64(len(seen.Record.Entries)+1))
			w.attach(id, content)
			evidence = append(evidence, sum)
		}
		if _, err := w.commit(id); err != nil {
			w.t.Fatal(err)
		}
	}
	return evidence
}

// objectNames is every object that git finds.
func (w *world) objectNames() string {
	w.t.Helper()
	return w.git("cat-file", "--batch-all-objects", "--batch-check")
}

func TestTidyKeepsEveryObjectInFewPacks(t *testing.T) {
	w := newShop(t)
	evidence := busyShop(w, 5, 60)
	large, sum := file(3<<20, 77)
	w.attach(carName(0), large)
	_, err := w.commit(carName(0))
	must(t, err)
	old, err := Open(w.dir)
	must(t, err)
	before := w.objectNames()
	report, err := w.shop.Tidy(context.Background(), nil)
	must(t, err)
	t.Logf("%+v", report)
	if report.Packed < 250 || report.Packs > 2 || report.After >= report.Before {
		t.Errorf("tidied as %+v", report)
	}
	loose, err := w.shop.looseObjects()
	must(t, err)
	if len(loose) != 1 || loose[0].bytes < packLoose {
		t.Errorf("%d objects still have files of their own, want the large one", len(loose))
	}
	if after := w.objectNames(); after != before {
		t.Errorf("objects before:\n%s\nafter:\n%s", before, after)
	}
	fsck(t, filepath.Join(w.dir, gitDir))
	for name, shop := range map[string]*Shop{"the shop that tidied": w.shop, "one that was open meanwhile": old} {
		if _, err := shop.Verify(context.Background(), nil); err != nil {
			t.Errorf("%s: %v", name, err)
		}
		for _, sum := range append(evidence, sum) {
			in, err := shop.OpenEvidence(sum)
			must(t, err)
			if _, err := io.Copy(io.Discard, in); err != nil {
				t.Errorf("%s: %v", name, err)
			}
			must(t, in.Close())
		}
	}
	again, err := w.shop.Tidy(context.Background(), nil)
	must(t, err)
	if again.Packed != 0 || again.Packs != report.Packs || again.After != report.After {
		t.Errorf("tidied again as %+v", again)
	}
	git(t, t.TempDir(), "clone", "-q", "--bare", filepath.Join(w.dir, gitDir), "copy.git")
}

// Small packs are merged as they come, so that their number follows the logarithm of the shop: here at most one for each doubling.
func TestTidyMergesSmallPacks(t *testing.T) {
	w := newShop(t)
	w.vehicle("car-1")
	most := 0
	for range 20 {
		w.note("car-1", "one more")
		_, err := w.commit("car-1")
		must(t, err)
		report, err := w.shop.Tidy(context.Background(), nil)
		must(t, err)
		if report.Packed == 0 {
			t.Fatal("nothing was packed")
		}
		most = max(most, report.Packs)
	}
	if most > 5 {
		t.Errorf("%d packs after at most 20 times tidying", most)
	}
	fsck(t, filepath.Join(w.dir, gitDir))
	if _, err := w.shop.Verify(context.Background(), nil); err != nil {
		t.Error(err)
	}
}

// What came packed in haste, each object whole, is packed tighter when it is merged; what is large is copied as it is. Either way every
// object stays.
func TestTidyPacksTighter(t *testing.T) {
	w := newShop(t)
	busyShop(w, 2, 40)
	w.git("repack", "-adfq", "--window=0")
	whole, err := packs.Names(w.shop.git)
	must(t, err)
	loosely, err := packs.Bytes(w.shop.git, whole[0])
	must(t, err)
	w.work(2, 20) // about as many bytes: a pack of twice as many would stay
	w.git("repack", "-dfq", "--window=0")
	before := w.objectNames()
	report, err := w.shop.Tidy(context.Background(), nil)
	must(t, err)
	t.Logf("%d bytes in the first pack alone; %+v", loosely, report)
	if report.After >= report.Before*9/10 {
		t.Errorf("tidied as %+v: not tighter", report)
	}
	if after := w.objectNames(); after != before {
		t.Error("the objects are others")
	}
	fsck(t, filepath.Join(w.dir, gitDir))
}

// Cars that are worked on in turn: each record is packed as what it has more than its last version, as git does that knows the names of files
// (git-pack-objects, --window=10 and --depth=50 as here). Their texts are by chance, so that no car's is like another's.
func TestTidyFindsVersions(t *testing.T) {
	t.Parallel()
	for name, shop := range map[string]struct{ cars, visits int }{"versions of records": {30, 8}, "versions of folders": {400, 1}} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			tidiedBesideGit(t, shop.cars, shop.visits)
		})
	}
}

func tidiedBesideGit(t *testing.T, cars, visits int) {
	w := newShop(t)
	chance := rand.New(rand.NewPCG(1, 2))
	for i := range cars {
		w.vehicle(carName(i))
	}
	for range visits {
		for i := range cars {
			for range 10 {
				w.note(carName(i), fmt.Sprintf("%x %x %x", chance.Uint64(), chance.Uint64(), chance.Uint64()))
			}
			_, err := w.commit(carName(i))
			must(t, err)
		}
	}
	before := w.objectNames()
	report, err := w.shop.Tidy(context.Background(), nil)
	must(t, err)
	if after := w.objectNames(); after != before {
		t.Error("the objects are others")
	}
	fsck(t, filepath.Join(w.dir, gitDir))
	w.git("repack", "-adfq", "--window=10", "--depth=50")
	names, err := packs.Names(w.shop.git)
	must(t, err)
	gits, err := packs.Bytes(w.shop.git, names[0])
	must(t, err)
	t.Logf("%d bytes loose, %d tidied, %d packed by git", report.Before, report.After, gits)
	if report.After > 2*gits {
		t.Errorf("%d bytes tidied, where git makes %d of them", report.After, gits)
	}
}

// What git itself packed, with its own indexes beside, is merged too; a pack that somebody asked git to keep is not.
func TestTidyTakesGitsPacks(t *testing.T) {
	w := newShop(t)
	busyShop(w, 3, 10)
	w.git("repack", "-dq")
	keep, err := packs.Names(w.shop.git)
	must(t, err)
	must(t, os.WriteFile(filepath.Join(w.dir, gitDir, packs.Dir, keep[0]+".keep"), nil, 0o644))
	for range 3 {
		w.note(carName(0), "more")
		_, err := w.commit(carName(0))
		must(t, err)
		w.git("-c", "pack.writeReverseIndex=true", "repack", "-dq")
	}
	before := w.objectNames()
	report, err := w.shop.Tidy(context.Background(), nil)
	must(t, err)
	if report.Packs != 2 {
		t.Errorf("%d packs, want the kept one and that of the others", report.Packs)
	}
	if _, err := os.Stat(filepath.Join(w.dir, gitDir, packs.Dir, keep[0]+".pack")); err != nil {
		t.Error(err)
	}
	rest, err := filepath.Glob(filepath.Join(w.dir, gitDir, packs.Dir, "*"))
	must(t, err)
	if len(rest) != 5 && len(rest) != 6 { // git may have written a reverse index of the kept one
		t.Errorf("left among the packs: %v", rest)
	}
	if after := w.objectNames(); after != before {
		t.Error("the objects are others")
	}
	fsck(t, filepath.Join(w.dir, gitDir))
}

// A pack in which bytes are wrong is never trusted: the loose objects stay.
func TestTidyDoesNotTrustADamagedPack(t *testing.T) {
	w := newShop(t)
	busyShop(w, 2, 5)
	loose, err := w.shop.looseObjects()
	must(t, err)
	w.git("repack", "-q") // copies into a pack, and leaves the files
	names, err := packs.Names(w.shop.git)
	must(t, err)
	name := filepath.Join(w.dir, gitDir, packs.Dir, names[0]+".pack")
	content, err := os.ReadFile(name)
	must(t, err)
	content[len(content)/2] ^= 1
	must(t, os.Chmod(name, 0o644))
	must(t, os.WriteFile(name, content, 0o644))
	if report, err := w.shop.Tidy(context.Background(), nil); err == nil {
		t.Errorf("tidied as %+v", report)
	}
	left, err := w.shop.looseObjects()
	must(t, err)
	if len(left) != len(loose) {
		t.Errorf("%d of %d loose objects are left", len(left), len(loose))
	}
}

func TestUntidy(t *testing.T) {
	t.Parallel()
	w := newShop(t)
	if w.shop.Untidy() {
		t.Error("a new shop is untidy")
	}
	for n := 0; !w.shop.Untidy(); n++ {
		if n > 20_000 {
			t.Fatal("never untidy")
		}
		_, err := writeBlob(w.shop.store, fmt.Append(nil, n))
		must(t, err)
	}
	loose, err := w.shop.looseObjects()
	must(t, err)
	if len(loose) < 4000 || len(loose) > 10_000 {
		t.Errorf("untidy from %d objects", len(loose))
	}
	t.Logf("untidy from %d objects", len(loose))
}

// Tidying at once is refused, and a writer goes on.
func TestOneTidiesAtATime(t *testing.T) {
	w := newShop(t)
	busyShop(w, 2, 40)
	other, err := Open(w.dir)
	must(t, err)
	asked := false
	_, err = w.shop.Tidy(context.Background(), func(int, int) {
		if asked {
			return
		}
		asked = true
		if _, err := other.Tidy(context.Background(), nil); !errors.Is(err, ErrBusy) {
			t.Errorf("a second one: %v", err)
		}
		beside := &world{t: t, dir: w.dir, shop: other, keys: w.keys}
		beside.note(carName(0), "meanwhile")
		if _, err := beside.commit(carName(0)); err != nil {
			t.Errorf("a writer: %v", err)
		}
	})
	must(t, err)
	if !asked {
		t.Error("no progress was told")
	}
	fsck(t, filepath.Join(w.dir, gitDir))
}

// tidyAtEveryChange tidies once for each change of the disk that can break, and then looks for everything.
func tidyAtEveryChange(t *testing.T, mode gitfstest.Mode, left func(*gitfstest.Memory) *gitfstest.Memory) {
	t.Helper()
	memory := gitfstest.NewMemory()
	w := newShopOn(t, t.TempDir(), memory)
	busyShop(w, 2, 2)
	_, err := w.shop.Tidy(context.Background(), nil) // so that there is something to merge
	must(t, err)
	w.work(2, 3)
	all, err := w.shop.everyObject()
	must(t, err)
	for n := 1; ; n++ {
		disk := memory.Crash(func() bool { return true })
		faulty := gitfstest.NewFaulty(disk, gitfstest.FailOnce, 0)
		shop, err := open(w.dir, faulty)
		must(t, err)
		faulty.Arm(mode, n)
		_, err = shop.Tidy(context.Background(), nil)
		if faulty.Changes() < n {
			must(t, err)
			calls := ""
			for i := range n {
				calls += faulty.Call(i) + "\n"
			}
			if !strings.Contains(calls, "remove shop.git/objects/pack/pack-") {
				t.Fatalf("no packs are merged among these changes:\n%s", calls)
			}
			return
		}
		rest := left(disk)
		if err := w.checkTidied(rest, all); err != nil {
			t.Errorf("change %d (%s): %v", n, faulty.Call(n), err)
		}
	}
}

// everyObject lists the objects of the repository.
func (s *Shop) everyObject() ([]plumbing.Hash, error) {
	loose, err := s.looseObjects()
	if err != nil {
		return nil, err
	}
	var all []plumbing.Hash
	for _, o := range loose {
		all = append(all, o.hash)
	}
	names, err := packs.Names(s.git)
	if err != nil {
		return nil, err
	}
	packed, err := packs.Objects(s.git, names...)
	return append(all, packed...), err
}

// checkTidied opens the shop on what is left of the disk: every object reads, git finds no fault, the history verifies, and tidying and
// working go on.
func (w *world) checkTidied(d *gitfstest.Memory, all []plumbing.Hash) error {
	shop, err := open(w.dir, gitfs.Disk(d))
	if err != nil {
		return fmt.Errorf("does not open: %w", err)
	}
	for _, hash := range all {
		if _, err := (checked{shop.store}).EncodedObject(plumbing.AnyObject, hash); err != nil {
			return err
		}
	}
	dir, gone := inMemory(w.t)
	defer gone()
	if err := d.Export(dir); err != nil {
		return err
	}
	fsck(w.t, filepath.Join(dir, gitDir))
	if _, err := shop.Tidy(context.Background(), nil); err != nil {
		return fmt.Errorf("cannot be tidied afterwards: %w", err)
	}
	on := &world{t: w.t, dir: w.dir, shop: shop, keys: w.keys}
	on.note(carName(0), "afterwards")
	if _, err := on.commit(carName(0)); err != nil {
		return fmt.Errorf("cannot commit afterwards: %w", err)
	}
	if _, err := shop.Verify(context.Background(), nil); err != nil {
		return err
	}
	loose, err := shop.looseObjects()
	if err == nil && len(loose) > 10 {
		err = fmt.Errorf("%d objects are still loose after tidying again", len(loose))
	}
	strays, strayed := packs.Strays(shop.git)
	if len(strays) > 0 {
		err = errors.Join(err, fmt.Errorf("left behind: %v", strays))
	}
	return errors.Join(err, strayed)
}

func TestTidyBreakingAtEveryChange(t *testing.T) {
	t.Parallel()
	for _, mode := range []struct {
		name string
		mode gitfstest.Mode
	}{{"fail once", gitfstest.FailOnce}, {"stop", gitfstest.Stop}, {"tear", gitfstest.Tear}, {"full", gitfstest.Full}} {
		t.Run(mode.name, func(t *testing.T) {
			t.Parallel()
			tidyAtEveryChange(t, mode.mode, func(m *gitfstest.Memory) *gitfstest.Memory { return m })
		})
	}
}

func TestTidyPowerCutAtEveryChange(t *testing.T) {
	t.Parallel()
	dice := rand.New(rand.NewPCG(4, 4))
	for _, survives := range []struct {
		name   string
		chance func() bool
	}{
		{"nothing unsynced survives", func() bool { return false }},
		{"some of it survives", func() bool { return dice.IntN(2) == 0 }},
	} {
		t.Run(survives.name, func(t *testing.T) {
			t.Parallel()
			tidyAtEveryChange(t, gitfstest.Tear, func(m *gitfstest.Memory) *gitfstest.Memory { return m.Crash(survives.chance) })
		})
	}
}
