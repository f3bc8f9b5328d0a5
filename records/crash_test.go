package records

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"syscall"
	"testing"

	"feedproof/records/internal/gitfs"
	"feedproof/records/internal/gitfstest"
	"feedproof/schema"
)

// story is a run of acknowledged and refused writes on a disk that may break, and what was acknowledged.
type story struct {
	*world
	appended  []string // notes whose Append returned nil
	committed []string // notes that were in the draft when Commit returned nil
	failed    error    // the first failure
}

// tell appends two notes, commits them and appends a third. It goes on after a failure, as people do.
func (s *story) tell() {
	s.record("first")
	s.record("second")
	if _, err := s.commit("car-1"); err == nil {
		s.committed = slices.Clone(s.appended)
	} else {
		s.fail(err)
	}
	s.record("third")
}

func (s *story) record(text string) {
	e, err := s.written("tech-1", schema.VehicleRecord, "car-1", moment, schema.NoteData{Text: text})
	if err != nil {
		s.fail(err)
		return
	}
	if err := s.shop.Append("car-1", e); err != nil {
		s.fail(err)
		return
	}
	s.appended = append(s.appended, text)
}

func (s *story) fail(err error) {
	if s.failed == nil {
		s.failed = err
	}
}

// checkAfter opens the shop on what is left of the disk and looks for everything acknowledged: committed notes in the record, the others
// in the record or the draft. Then it works on, and has git check the repository.
func (s *story) checkAfter(d gitfs.Disk, export func(dir string) error) error {
	after, err := open(s.dir, d)
	if err != nil {
		return fmt.Errorf("does not open: %w", err)
	}
	r, err := after.Record(schema.VehicleRecord, "car-1")
	if err != nil {
		return err
	}
	inRecord := notes(s.t, r.Entries)
	for _, text := range s.committed {
		if !slices.Contains(inRecord, text) {
			return fmt.Errorf("lost committed %q", text)
		}
	}
	draft, err := after.Draft("car-1")
	if err != nil {
		return err
	}
	for _, e := range draft {
		if holds(r, e) {
			return fmt.Errorf("entry %s is in the record and still in the draft", e.ID)
		}
	}
	inDraft := notes(s.t, draft)
	for _, text := range s.appended {
		if !slices.Contains(inRecord, text) && !slices.Contains(inDraft, text) {
			return fmt.Errorf("lost acknowledged %q", text)
		}
	}
	return s.workOn(after, export)
}

func (s *story) workOn(after *Shop, export func(dir string) error) error {
	on := &world{t: s.t, dir: s.dir, shop: after, keys: s.keys}
	on.note("car-1", "afterwards")
	if _, err := on.commit("car-1"); err != nil {
		return fmt.Errorf("cannot commit afterwards: %w", err)
	}
	if _, err := after.Verify(context.Background(), nil); err != nil {
		return err
	}
	dir, gone := inMemory(s.t)
	defer gone()
	if err := export(dir); err != nil {
		return err
	}
	fsck(s.t, filepath.Join(dir, gitDir))
	return nil
}

// inMemory is a folder to unpack a disk in memory into, for git to read, and what takes it away: in memory too, where the system has such
// a place. What is killed or torn on a real disk stays on one.
func inMemory(t testing.TB) (dir string, gone func()) {
	dir, err := os.MkdirTemp("/dev/shm", "feedproof-test-")
	if err != nil {
		dir = t.TempDir()
	}
	return dir, func() { _ = os.RemoveAll(dir) }
}

// base is a shop with one car on a disk in memory, to be copied for each run.
type base struct {
	*world
	memory *gitfstest.Memory
}

func newBase(t testing.TB) base {
	t.Helper()
	memory := gitfstest.NewMemory()
	w := newShopOn(t, t.TempDir(), memory)
	w.vehicle("car-1")
	return base{w, memory}
}

// story begins one on a copy of the base, whose disk breaks at the nth change.
func (b base) story(mode gitfstest.Mode, n int) (*story, *gitfstest.Memory, *gitfstest.Faulty) {
	b.t.Helper()
	memory := b.memory.Crash(func() bool { return true })
	faulty := gitfstest.NewFaulty(memory, mode, n)
	shop, err := open(b.dir, faulty)
	must(b.t, err)
	return &story{world: &world{t: b.t, dir: b.dir, shop: shop, keys: b.keys}}, memory, faulty
}

// everyChange tells the story once for each change that can break, until one run gets by unbroken. How many changes there are differs a
// little between runs, as folders of objects are made when first needed.
func everyChange(t *testing.T, mode gitfstest.Mode, left func(*gitfstest.Memory) *gitfstest.Memory) {
	t.Helper()
	b := newBase(t)
	for n := 1; ; n++ {
		s, memory, faulty := b.story(mode, n)
		s.tell()
		if faulty.Changes() < n {
			must(t, s.failed)
			if n < 60 {
				t.Fatalf("the story makes %d changes: too few to be the real one", n-1)
			}
			return
		}
		rest := left(memory)
		if err := s.checkAfter(rest, rest.Export); err != nil {
			t.Errorf("change %d (%s): %v", n, faulty.Call(n), err)
		}
	}
}

func TestBreakingAtEveryChange(t *testing.T) {
	t.Parallel()
	for _, mode := range []struct {
		name string
		mode gitfstest.Mode
	}{{"fail once", gitfstest.FailOnce}, {"stop", gitfstest.Stop}, {"tear", gitfstest.Tear}, {"full", gitfstest.Full}} {
		t.Run(mode.name, func(t *testing.T) {
			t.Parallel()
			everyChange(t, mode.mode, func(m *gitfstest.Memory) *gitfstest.Memory { return m })
		})
	}
}

func TestPowerCutAtEveryChange(t *testing.T) {
	t.Parallel()
	dice := rand.New(rand.NewPCG(1, 1))
	for _, survives := range []struct {
		name   string
		chance func() bool
	}{
		{"nothing unsynced survives", func() bool { return false }},
		{"all of it survives", func() bool { return true }},
		{"some of it survives", func() bool { return dice.IntN(2) == 0 }},
	} {
		t.Run(survives.name, func(t *testing.T) {
			t.Parallel()
			everyChange(t, gitfstest.Stop, func(m *gitfstest.Memory) *gitfstest.Memory { return m.Crash(survives.chance) })
		})
	}
}

// A process is killed, so that all it wrote is still there though not synced; the next one commits; then the power goes. What the second
// acknowledged may not rest on what the first never synced.
func TestPowerCutAfterAKill(t *testing.T) {
	t.Parallel()
	b := newBase(t)
	for n := 1; ; n++ {
		s, memory, faulty := b.story(gitfstest.Stop, n)
		s.tell()
		if faulty.Changes() < n {
			must(t, s.failed)
			return
		}
		next, err := open(s.dir, memory)
		must(t, err)
		s.shop = next
		if _, err := s.commit("car-1"); err != nil && !errors.Is(err, ErrNothing) {
			t.Fatalf("change %d (%s): commit afterwards: %v", n, faulty.Call(n), err)
		}
		s.committed = slices.Clone(s.appended)
		left := memory.Crash(func() bool { return false })
		if err := s.checkAfter(left, left.Export); err != nil {
			t.Errorf("change %d (%s): %v", n, faulty.Call(n), err)
		}
	}
}

func TestFullDiskSaysSoAndLosesNothing(t *testing.T) {
	s, memory, faulty := newBase(t).story(gitfstest.FailOnce, 0)
	s.record("before")
	faulty.Arm(gitfstest.Full, 1)
	s.record("no room")
	if !errors.Is(s.failed, syscall.ENOSPC) {
		t.Errorf("append on a full disk: %v", s.failed)
	}
	if _, err := s.commit("car-1"); !errors.Is(err, syscall.ENOSPC) {
		t.Errorf("commit on a full disk: %v", err)
	}
	must(t, s.checkAfter(memory, memory.Export))
}

func TestReadOnlyDiskCanBeRead(t *testing.T) {
	s, memory, _ := newBase(t).story(gitfstest.FailOnce, 0)
	s.record("before")
	frozen := gitfstest.NewFaulty(memory, gitfstest.ReadOnly, 1)
	shop, err := open(s.dir, frozen)
	must(t, err)
	if _, err := shop.Record(schema.VehicleRecord, "car-1"); err != nil {
		t.Error(err)
	}
	if _, err := shop.Verify(context.Background(), nil); err != nil {
		t.Error(err)
	}
	if draft, err := shop.Draft("car-1"); err != nil || len(draft) != 1 {
		t.Errorf("draft of %d entries, %v", len(draft), err)
	}
	s.shop = shop
	if _, err := s.commit("car-1"); !errors.Is(err, syscall.EROFS) {
		t.Errorf("commit on a read-only disk: %v", err)
	}
	if err := shop.Append("car-1", s.entry("tech-1", schema.VehicleRecord, "car-1", schema.NoteData{Text: "x"})); !errors.Is(err, syscall.EROFS) {
		t.Errorf("append on a read-only disk: %v", err)
	}
	var path *fs.PathError
	if !errors.As(shop.SetDevice(Device{Name: "bay-2"}), &path) {
		t.Error("the device was changed on a read-only disk")
	}
}
