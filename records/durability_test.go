package records

// What a shop survives, and the test that shows it. After each the shop opens, git fsck --full finds no fault, everything acknowledged is
// there, nothing is there by half, and work goes on.
//
//	                        draft, commit, ref           evidence             pack, merge, prune            sync
//	every change fails      BreakingAtEveryChange        EvidenceBreaking     TidyBreakingAtEveryChange     SyncBreakingAtEveryChange
//	 once / for good        (fail once, stop)            (the same)           (the same)
//	a write is torn         the same (tear)              (the same)           the same (tear)
//	disk full from there    the same (full)              (the same)           the same (full)
//	power cut: nothing,     PowerCutAtEveryChange        EvidencePowerCut     TidyPowerCutAtEveryChange     the same
//	 some or all unsynced
//	 changes survive
//	kill -9                 KilledInCommit               its commits          KilledInTidy                  KilledInSync
//	kill -9, then a cut     PowerCutAfterAKill           -                    PowerCut (tear)               -
//	processes at once       TwoProcessesAtOnce           -                    TidyBesideWritersAndReaders   BaysAtOnce
//	read-only folder        ReadOnlyDiskCanBeRead, and testdata/script through the program
//	lock of a dead process  LockOfADeadProcess
//	stale lock of the ref   StaleLockOfADeadWriter, and WriterFindsTheShopBusy for that of another program
//	empty ref file          EmptyBranchIsNotReadAsAnOlderOne
//	clock jumps             ClockJumps, ClockSetBackChangesNoOrder
//
// make durable (FEEDPROOF_LONG=1) kills 1,000 times each.

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
	"time"

	"feedproof/records/internal/gitfstest"
	"feedproof/schema"
)

// evidenceStory keeps a file, notes it and commits it, on a disk that may break. It returns what was acknowledged.
func (w *world) evidenceStory(content []byte) (kept, committed bool) {
	file, err := w.shop.Keep(bytes.NewReader(content))
	if err != nil {
		return false, false
	}
	e, err := w.written("tech-1", schema.VehicleRecord, "car-1", moment, schema.EvidenceData{SHA256: file.SHA256, Bytes: file.Bytes, Type: "image/jpeg", What: "the clip"})
	if err != nil {
		return true, false
	}
	if w.shop.Append("car-1", e) != nil {
		return true, false
	}
	_, err = w.commit("car-1")
	return true, err == nil
}

// evidenceAtEveryChange tells the story once for each change of the disk that can break, and then looks for the file.
func evidenceAtEveryChange(t *testing.T, mode gitfstest.Mode, left func(*gitfstest.Memory) *gitfstest.Memory) {
	t.Helper()
	b := newBase(t)
	content, sum := file(5000, 1)
	for n := 1; ; n++ {
		s, memory, faulty := b.story(mode, n)
		kept, committed := s.evidenceStory(content)
		if faulty.Changes() < n {
			if !committed || n < 30 {
				t.Fatalf("committed %v after %d changes: not the real story", committed, n-1)
			}
			return
		}
		rest := left(memory)
		if err := s.checkEvidenceAfter(rest, sum, content, kept, committed); err != nil {
			t.Errorf("change %d (%s): %v", n, faulty.Call(n), err)
		}
	}
}

func (s *story) checkEvidenceAfter(d *gitfstest.Memory, sum string, content []byte, kept, committed bool) error {
	after, err := open(s.dir, d)
	if err != nil {
		return fmt.Errorf("does not open: %w", err)
	}
	if kept {
		in, err := after.OpenEvidence(sum)
		if err != nil {
			return fmt.Errorf("lost what was kept: %w", err)
		}
		if got, err := io.ReadAll(in); err != nil || !bytes.Equal(got, content) {
			return fmt.Errorf("kept %d of %d bytes: %w", len(got), len(content), err)
		}
	}
	if there, err := after.hasEvidence(sum); err != nil || committed && !there {
		return fmt.Errorf("committed without its file: %w", err)
	}
	if _, err := after.Keep(bytes.NewReader(content)); err != nil {
		return fmt.Errorf("cannot be kept afterwards: %w", err)
	}
	if err := s.workOn(after, d.Export); err != nil {
		return err
	}
	report, err := after.Verify(context.Background(), nil)
	if err == nil && len(report.Missing) > 0 {
		err = fmt.Errorf("the entry is in the record without its file: %v", report.Missing)
	}
	return err
}

func TestEvidenceBreakingAtEveryChange(t *testing.T) {
	t.Parallel()
	for name, mode := range map[string]gitfstest.Mode{"fail once": gitfstest.FailOnce, "stop": gitfstest.Stop, "tear": gitfstest.Tear, "full": gitfstest.Full} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			evidenceAtEveryChange(t, mode, func(m *gitfstest.Memory) *gitfstest.Memory { return m })
		})
	}
}

func TestEvidencePowerCutAtEveryChange(t *testing.T) {
	t.Parallel()
	dice := rand.New(rand.NewPCG(6, 6))
	for name, survives := range map[string]func() bool{
		"nothing unsynced survives": func() bool { return false },
		"some of it survives":       func() bool { return dice.IntN(2) == 0 },
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			evidenceAtEveryChange(t, gitfstest.Tear, func(m *gitfstest.Memory) *gitfstest.Memory { return m.Crash(survives) })
		})
	}
}

// holdLock is what a child process does that takes the lock and never gives it back.
func holdLock(dir string) error {
	shop, err := Open(dir)
	if err != nil {
		return err
	}
	if _, err := shop.lock(context.Background(), gitDir); err != nil {
		return err
	}
	fmt.Println("locked")
	select {}
}

// A process that dies with the lock gives it back; one that lives keeps it, however long it hangs.
func TestLockOfADeadProcess(t *testing.T) {
	w := newShop(t)
	w.vehicle("car-1")
	w.note("car-1", "waits")
	self, err := os.Executable()
	must(t, err)
	cmd := exec.Command(self)
	cmd.Env = append(os.Environ(), holderEnv+"="+w.dir)
	out, err := cmd.StdoutPipe()
	must(t, err)
	must(t, cmd.Start())
	if line, err := bufio.NewReader(out).ReadString('\n'); line != "locked\n" {
		t.Fatalf("the child says %q, %v", line, err)
	}
	w.shop.wait = 50 * time.Millisecond
	if _, err := w.commit("car-1"); !errors.Is(err, ErrBusy) {
		t.Errorf("beside a process that holds the lock: %v", err)
	}
	must(t, cmd.Process.Kill())
	_ = cmd.Wait() // it was killed
	if _, err := w.commit("car-1"); err != nil {
		t.Errorf("after it died: %v", err)
	}
}

// The lock of the branch that a dead writer left, whole or half written, is taken away by the next one, which says whose it is by the note.
func TestStaleLockOfADeadWriter(t *testing.T) {
	for name, part := range map[string]float64{"whole": 1, "half": 0.5, "empty": 0} {
		t.Run(name, func(t *testing.T) {
			w := newShop(t)
			w.vehicle("car-1")
			w.note("car-1", "was being committed")
			head, err := w.shop.head()
			must(t, err)
			next, err := writeBlob(w.shop.store, []byte("the commit that never came"))
			must(t, err)
			note, err := json.Marshal(moving{To: next.String(), Vehicle: "car-1"})
			must(t, err)
			must(t, w.shop.git.WriteFile(movingFile, note, 0o644))
			lock := next.String() + "\n"
			must(t, w.shop.git.WriteNew(mainLock, []byte(lock[:int(part*float64(len(lock)))]), 0o644))
			again, err := Open(w.dir)
			must(t, err)
			if now, err := again.head(); err != nil || now != head {
				t.Errorf("the branch is at %s, %v", now, err)
			}
			on := &world{t: t, dir: w.dir, shop: again, keys: w.keys}
			if _, err := on.commit("car-1"); err != nil {
				t.Error(err)
			}
			if _, err := os.Stat(filepath.Join(w.dir, gitDir, mainLock)); err == nil {
				t.Error("the lock is still there")
			}
			fsck(t, filepath.Join(w.dir, gitDir))
		})
	}
}

// The clock of a machine jumps by decades, back and forth. Nothing is refused, the order is that of the counters, and git reads the history.
func TestClockJumps(t *testing.T) {
	w := newShop(t)
	w.vehicle("car-1")
	var want []string
	for _, year := range []int{2026, 1975, 2099, 2026, 2001} {
		now := time.Date(year, 7, 1, 12, 0, 0, 0, time.UTC)
		text := fmt.Sprintf("written in %d", year)
		e, err := w.written("tech-1", schema.VehicleRecord, "car-1", now, schema.NoteData{Text: text})
		must(t, err)
		must(t, w.shop.Append("car-1", e))
		_, err = w.shop.Commit(context.Background(), CommitRequest{Vehicle: "car-1", By: "tech-1", Key: w.keys["tech-1"], Now: func() time.Time { return now }})
		must(t, err)
		want = append(want, text)
		if _, err := w.shop.Tidy(context.Background(), nil); err != nil {
			t.Error(err)
		}
	}
	r, err := w.shop.Record(schema.VehicleRecord, "car-1")
	must(t, err)
	if got := notes(t, r.Entries); fmt.Sprint(got) != fmt.Sprint(want) {
		t.Errorf("notes in the order %v, want %v", got, want)
	}
	changes, err := w.shop.History(context.Background(), schema.VehicleRecord, "car-1", nil)
	must(t, err)
	if len(changes) != len(want)+1 {
		t.Errorf("%d commits, want %d", len(changes), len(want)+1)
	}
	if _, err := w.shop.Verify(context.Background(), nil); err != nil {
		t.Error(err)
	}
	fsck(t, filepath.Join(w.dir, gitDir))
}
