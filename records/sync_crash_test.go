package records

import (
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"testing"

	"feedproof/records/internal/gitfs"
	"feedproof/records/internal/gitfstest"

	"golang.org/x/crypto/ssh"
)

// meeting is a bay and a stick, each on a disk in memory that may break, with news on both sides.
type meeting struct {
	*world
	dir        string
	bay, stick *gitfstest.Memory
}

// meetings prepares one, and hands out copies.
func meetings(t *testing.T) func() *meeting {
	t.Helper()
	b := newBase(t)
	other := b.copy()
	stick := gitfstest.NewMemory()
	exchangeOn(t, other, gitfs.Disk(stick), must)
	other.add("car-1", "theirs")
	exchangeOn(t, other, gitfs.Disk(stick), must)
	b.add("car-1", "ours")
	b.note("car-1", "in the draft")
	return func() *meeting {
		all := func() bool { return true }
		return &meeting{world: &world{t: t, keys: b.keys}, dir: t.TempDir(), bay: b.memory.Crash(all), stick: stick.Crash(all)}
	}
}

// exchangeOn exchanges with a stick on any disk.
func exchangeOn(t *testing.T, w *world, stick gitfs.Disk, done func(testing.TB, error)) {
	t.Helper()
	dir := t.TempDir()
	must(t, os.Mkdir(filepath.Join(dir, gitDir), 0o755))
	repo, err := attachTo(dir, gitfs.New(stick), gitDir)
	must(t, err)
	x := exchange{
		Shop: w.shop, report: SyncReport{Remote: "stick"},
		SyncOptions: SyncOptions{By: "tech-1", Key: func() (ssh.Signer, error) { return w.keys["tech-1"], nil }, Now: clock},
		remote:      &folderRemote{name: "stick", repo: repo, base: gitDir, own: w.shop.store, scan: w.shop.scanPacks},
	}
	done(t, x.once(context.Background()))
}

// open opens the bay on a disk.
func (m *meeting) open(d gitfs.Disk) {
	m.t.Helper()
	for _, below := range []string{gitDir, draftsDir} {
		must(m.t, os.MkdirAll(filepath.Join(m.dir, below), 0o755))
	}
	var err error
	m.shop, err = open(m.dir, d)
	must(m.t, err)
}

// check holds that nothing acknowledged is lost and that the next exchange brings all together.
func (m *meeting) check(t *testing.T, bay, stick *gitfstest.Memory) error {
	m.open(bay)
	if got := m.committed("car-1"); !slices.Contains(got, "ours") {
		return fmt.Errorf("the bay has %v", got)
	}
	if draft, err := m.shop.Draft("car-1"); err != nil || len(draft) != 1 {
		return fmt.Errorf("the draft has %d entries, %w", len(draft), err)
	}
	var failed error
	exchangeOn(t, m.world, stick, func(_ testing.TB, err error) { failed = err })
	if failed != nil {
		return fmt.Errorf("the next exchange: %w", failed)
	}
	if got := m.committed("car-1"); !slices.Contains(got, "ours") || !slices.Contains(got, "theirs") {
		return fmt.Errorf("after the next exchange the bay has %v", got)
	}
	if _, err := m.shop.Verify(context.Background(), nil); err != nil {
		return err
	}
	head, err := m.shop.head()
	if err != nil {
		return err
	}
	for name, disk := range map[string]*gitfstest.Memory{"bay": bay, "stick": stick} {
		dir, gone := inMemory(t)
		defer gone()
		must(t, disk.Export(dir))
		fsck(t, filepath.Join(dir, gitDir))
		if got := git(t, filepath.Join(dir, gitDir), "rev-parse", "main"); got != head.String()+"\n" {
			return fmt.Errorf("the %s is at %s", name, got)
		}
	}
	return nil
}

// An exchange may be cut off at any change to either disk, by a failure, a kill or a power cut: nothing is lost, and the next one finishes it.
func TestSyncBreakingAtEveryChange(t *testing.T) {
	t.Parallel()
	meet := meetings(t)
	for _, side := range []string{"bay", "stick"} {
		for _, way := range []struct {
			name string
			mode gitfstest.Mode
			left func(*gitfstest.Memory) *gitfstest.Memory
		}{
			{"fails once", gitfstest.FailOnce, func(m *gitfstest.Memory) *gitfstest.Memory { return m }},
			{"stops in a write", gitfstest.Tear, func(m *gitfstest.Memory) *gitfstest.Memory { return m }},
			{"power cut", gitfstest.Stop, func(m *gitfstest.Memory) *gitfstest.Memory { return m.Crash(func() bool { return false }) }},
		} {
			t.Run(side+" "+way.name, func(t *testing.T) {
				t.Parallel()
				step := 1
				if !long() {
					step = 8 // other changes in each run of the test: their number differs a little
				}
				for n := 1 + rand.IntN(step); ; n += step {
					m := meet()
					m.t = t
					var bay, stick gitfs.Disk = m.bay, m.stick
					var faulty *gitfstest.Faulty
					if side == "bay" {
						faulty = gitfstest.NewFaulty(m.bay, way.mode, n)
						bay = faulty
					} else {
						faulty = gitfstest.NewFaulty(m.stick, way.mode, n)
						stick = faulty
					}
					m.open(bay)
					exchangeOn(t, m.world, stick, func(testing.TB, error) {})
					whole := faulty.Changes() < n
					if err := m.check(t, way.left(m.bay), way.left(m.stick)); err != nil {
						t.Errorf("change %d (%s): %v", n, faulty.Call(n), err)
					}
					if whole {
						t.Logf("%d changes", faulty.Changes())
						if n < 15 {
							t.Fatalf("the exchange makes %d changes: too few to be the real one", n-1)
						}
						return
					}
				}
			})
		}
	}
}

// A stick that is full or write-protected still gives what it has; what it cannot take is said.
func TestAStickThatTakesNothing(t *testing.T) {
	t.Parallel()
	meet := meetings(t)
	for name, mode := range map[string]gitfstest.Mode{"full": gitfstest.Full, "write-protected": gitfstest.ReadOnly} {
		t.Run(name, func(t *testing.T) {
			m := meet()
			m.t = t
			m.open(m.bay)
			exchangeOn(t, m.world, gitfstest.NewFaulty(m.stick, mode, 1), func(_ testing.TB, err error) {
				var fault *RemoteError
				if !errors.As(err, &fault) || fault.Fix == "" {
					t.Errorf("the exchange says %v", err)
				}
			})
			if got := m.committed("car-1"); !slices.Contains(got, "theirs") {
				t.Errorf("the bay has %v", got)
			}
			if err := m.check(t, m.bay, m.stick); err != nil {
				t.Error(err)
			}
		})
	}
}

// A remote that gets many small packs is tidied by whoever pushes.
func TestARemoteStaysTidy(t *testing.T) {
	t.Parallel()
	one, two, stick := bays(t)
	one.synced(stick)
	for i := range manyPacks {
		one.vehicle(fmt.Sprintf("new-%d", i))
		one.vehicle(fmt.Sprintf("more-%d", i))
		one.synced(stick)
	}
	left, err := filepath.Glob(filepath.Join(stick, gitDir, packDir, "*.pack"))
	must(t, err)
	if len(left) == 0 || len(left) >= manyPacks {
		t.Errorf("the stick has %d packs", len(left))
	}
	two.synced(stick)
	if one.tree() != two.tree() {
		t.Error("the bays differ")
	}
	fsck(t, filepath.Join(stick, gitDir))
}
