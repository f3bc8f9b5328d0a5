package records

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"feedproof/records/signature"
	"feedproof/schema"

	"golang.org/x/crypto/ssh"
)

// childEnv tells the test binary to be a writer in another process: the shop's folder, the key file and the name of its notes.
const childEnv = "RECORDS_TEST_WRITER"

// holderEnv tells it to take the lock of a shop and keep it.
const holderEnv = "RECORDS_TEST_HOLDER"

func TestMain(m *testing.M) {
	var err error
	switch job, held := os.Getenv(childEnv), os.Getenv(holderEnv); {
	case job != "":
		err = writeUntilKilled(strings.Split(job, "\n"))
	case held != "":
		err = holdLock(held)
	default:
		os.Exit(m.Run())
	}
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
	os.Exit(0)
}

// writeUntilKilled appends and commits notes for ever, or rounds times, and says on standard output what was acknowledged.
func writeUntilKilled(job []string) error {
	dir, keyFile, name, vehicle := job[0], job[1], job[2], job[3]
	var rounds int
	if _, err := fmt.Sscan(job[4], &rounds); err != nil {
		return err
	}
	key, err := signature.LoadKey(keyFile, nil)
	if err != nil {
		return err
	}
	shop, err := Open(dir)
	if err != nil {
		return err
	}
	for i := 0; rounds == 0 || i < rounds; i++ {
		text := fmt.Sprintf("%s-%d", name, i)
		if err := appendNote(shop, vehicle, text, key); err != nil {
			return err
		}
		fmt.Println("appended", text)
		_, err := shop.Commit(context.Background(), CommitRequest{Vehicle: vehicle, By: "tech-1", Key: key})
		if err != nil && !errors.Is(err, ErrNothing) { // nothing: the other process took it along
			return err
		}
		fmt.Println("committed", text)
		if strings.HasPrefix(name, tidies) {
			if _, err := shop.Tidy(context.Background(), nil); err != nil && !errors.Is(err, ErrBusy) {
				return err
			}
			fmt.Println("tidied", text)
		}
		if stick := os.Getenv(stickEnv); stick != "" {
			o := SyncOptions{By: "tech-1", Key: func() (ssh.Signer, error) { return key, nil }}
			if _, err := shop.Sync(context.Background(), stick, o); err != nil {
				return err
			}
			fmt.Println("synced", text)
		}
	}
	return nil
}

// appendNote writes a note, again when another process of the machine was quicker.
func appendNote(shop *Shop, vehicle, text string, key ssh.Signer) error {
	for {
		seen, err := shop.Show(schema.VehicleRecord, vehicle)
		if err != nil {
			return err
		}
		all, err := shop.Write(seen, Fact{By: "tech-1", Key: key, Entered: time.Now(), Data: schema.NoteData{Text: text}})
		if err != nil {
			return err
		}
		err = shop.Append(vehicle, all[0])
		if unseen := (*UnseenError)(nil); !errors.As(err, &unseen) {
			return err
		}
	}
}

// stickEnv names the folder with which a writer exchanges after each commit.
const stickEnv = "FEEDPROOF_TEST_STICK"

// tidies begins the names of writers that tidy after each commit.
const tidies = "tidy"

// keyFile keeps the technician's key where a child process can read it.
func (w *world) keyFile() string {
	w.t.Helper()
	file := filepath.Join(w.t.TempDir(), "tech-2")
	key, err := signature.WriteKey(file, "", nil)
	must(w.t, err)
	data := schema.KeyData{Person: "tech-1", Key: signature.KeyLine(key.PublicKey()), Action: "add"}
	must(w.t, w.put("lead-1", schema.ShopRecord, "", data))
	return file
}

func (w *world) startWriter(keyFile, name, vehicle string, rounds int) (*exec.Cmd, *bufio.Scanner, *strings.Builder) {
	w.t.Helper()
	self, err := os.Executable()
	must(w.t, err)
	cmd := exec.Command(self)
	cmd.Env = append(os.Environ(), childEnv+"="+strings.Join([]string{w.dir, keyFile, name, vehicle, fmt.Sprint(rounds)}, "\n"))
	out, err := cmd.StdoutPipe()
	must(w.t, err)
	said := &strings.Builder{}
	cmd.Stderr = said
	must(w.t, cmd.Start())
	return cmd, bufio.NewScanner(out), said
}

// killing is when a writer dies: at a random moment of what it does after a commit, once it has done that so many times.
type killing struct {
	done   string // what it says when it has
	rounds int
	usual  *time.Duration // how long that takes here, learnt from each round
	dice   *rand.Rand
}

// killWriter starts a writer and kills it. It returns what the writer acknowledged, and whether it died before it was done.
func (w *world) killWriter(keyFile, name, vehicle string, k killing) (committed []string, hit bool) {
	w.t.Helper()
	cmd, lines, said := w.startWriter(keyFile, name, vehicle, 0)
	last, began, rounds := "", time.Now(), 0
	for lines.Scan() {
		word, text, _ := strings.Cut(lines.Text(), " ")
		switch last = word; word {
		case "committed":
			committed = append(committed, text)
			if began = time.Now(); rounds >= k.rounds {
				time.Sleep(time.Duration(k.dice.Float64() * 1.2 * float64(*k.usual)))
				must(w.t, cmd.Process.Kill())
			}
		case k.done:
			*k.usual = time.Since(began)
			rounds++
		}
	}
	_ = cmd.Wait() // it was killed
	if said.Len() > 0 {
		w.t.Fatalf("%s: %s", name, said)
	}
	return committed, last == "committed"
}

// texts is the notes in a car's record and in its draft.
func (w *world) texts(vehicle string) (inRecord, inDraft []string) {
	w.t.Helper()
	shop, err := Open(w.dir)
	must(w.t, err)
	r, err := shop.Record(schema.VehicleRecord, vehicle)
	must(w.t, err)
	draft, err := shop.Draft(vehicle)
	must(w.t, err)
	return notes(w.t, r.Entries), notes(w.t, draft)
}

// kills is how often a process is killed: often enough in make test to hit every kind of moment, and more in make ci.
func kills() int {
	switch {
	case long():
		return 1000
	case testing.Short():
		return 20
	case os.Getenv("FEEDPROOF_WHOLE") != "":
		return 100
	}
	return 30
}

// long is asked for with FEEDPROOF_LONG=1, as make durable does.
func long() bool { return os.Getenv("FEEDPROOF_LONG") != "" }

func TestKilledInCommit(t *testing.T) {
	t.Parallel()
	w := newShop(t)
	key := w.keyFile()
	dice := rand.New(rand.NewPCG(2, 2))
	var inCommit, stale, moved int
	usual := 10 * time.Millisecond // what a commit takes here
	for i := range kills() {
		car := fmt.Sprintf("car-%d", i/10) // a new one now and then, so that records stay as small as real ones
		if i%10 == 0 {
			w.vehicle(car)
		}
		name := fmt.Sprintf("run%d", i)
		cmd, lines, said := w.startWriter(key, name, car, 0)
		var appended, committed []string
		last, began := "", time.Now()
		for lines.Scan() {
			word, text, _ := strings.Cut(lines.Text(), " ")
			switch last = word; word {
			case "appended":
				appended = append(appended, text)
			case "committed":
				committed = append(committed, text)
			}
			switch {
			case len(committed) == 1 && word == "committed":
				usual = time.Since(began)
			case len(committed) == 1:
				time.Sleep(time.Duration(dice.Float64() * 1.2 * float64(usual)))
				must(t, cmd.Process.Kill())
			}
			began = time.Now()
		}
		_ = cmd.Wait() // it was killed
		if said.Len() > 0 {
			t.Fatalf("run %d: %s", i, said)
		}
		if last == "appended" {
			inCommit++
		}
		if _, err := os.Stat(filepath.Join(w.dir, gitDir, mainLock)); err == nil {
			stale++
		}
		if _, err := os.Stat(filepath.Join(w.dir, gitDir, movingFile)); err == nil {
			moved++
		}
		inRecord, inDraft := w.texts(car)
		for _, text := range committed {
			if !slices.Contains(inRecord, text) {
				t.Errorf("run %d: lost committed %s", i, text)
			}
		}
		for _, text := range appended {
			if !slices.Contains(inRecord, text) && !slices.Contains(inDraft, text) {
				t.Errorf("run %d: lost appended %s", i, text)
			}
		}
	}
	t.Logf("%d kills, %d of them in a commit, %d left a commit half done, %d of them with git's lock file", kills(), inCommit, moved, stale)
	if inCommit < kills()/4 || moved == 0 {
		t.Errorf("%d of %d kills hit a commit, %d left one half done: the test does not test", inCommit, kills(), moved)
	}
	w.note("car-0", "afterwards")
	if _, err := w.commit("car-0"); err != nil {
		t.Error(err)
	}
	if _, err := w.shop.Verify(context.Background(), nil); err != nil {
		t.Error(err)
	}
	fsck(t, filepath.Join(w.dir, gitDir))
}

func TestTwoProcessesAtOnce(t *testing.T) {
	t.Parallel()
	w := newShop(t)
	w.vehicle("car-1")
	w.vehicle("car-2")
	key := w.keyFile()
	const rounds = 15
	cars := []string{"car-1", "car-1", "car-2", "car-2"}
	var all sync.WaitGroup
	for i, car := range cars {
		cmd, lines, said := w.startWriter(key, fmt.Sprintf("bay%d", i), car, rounds)
		all.Go(func() {
			for lines.Scan() {
			}
			if err := cmd.Wait(); err != nil {
				t.Errorf("writer %d: %v %s", i, err, said)
			}
		})
	}
	all.Wait()
	for _, car := range []string{"car-1", "car-2"} {
		inRecord, inDraft := w.texts(car)
		if len(inRecord) != 2*rounds || len(inDraft) != 0 {
			t.Errorf("%s: %d notes in the record and %d in the draft, want %d and 0", car, len(inRecord), len(inDraft), 2*rounds)
		}
	}
	if _, err := w.shop.Verify(context.Background(), nil); err != nil {
		t.Error(err)
	}
	fsck(t, filepath.Join(w.dir, gitDir))
}

func TestWriterFindsTheShopBusy(t *testing.T) {
	w := newShop(t)
	w.vehicle("car-1")
	w.note("car-1", "x")
	w.shop.wait = 30 * time.Millisecond
	t.Run("another process holds the lock", func(t *testing.T) {
		release, err := w.shop.lock(context.Background(), gitDir)
		must(t, err)
		if _, err := w.commit("car-1"); !errors.Is(err, ErrBusy) {
			t.Errorf("commit: %v", err)
		}
		release()
	})
	t.Run("git holds the branch", func(t *testing.T) {
		lock := filepath.Join(w.dir, gitDir, mainLock)
		must(t, os.WriteFile(lock, nil, 0o644))
		if _, err := w.commit("car-1"); !errors.Is(err, ErrBusy) {
			t.Errorf("commit: %v", err)
		}
		if _, err := Open(w.dir); err != nil {
			t.Errorf("open: %v", err)
		}
		if _, err := os.Stat(lock); err != nil {
			t.Error("the lock file of another program was removed")
		}
		must(t, os.Remove(lock))
	})
	if _, err := w.commit("car-1"); err != nil {
		t.Errorf("commit afterwards: %v", err)
	}
}

func TestBranchMovedByGitIsNotOverwritten(t *testing.T) {
	w := newShop(t)
	w.vehicle("car-1")
	old, err := w.shop.head()
	must(t, err)
	w.note("car-1", "x")
	done, err := w.commit("car-1")
	must(t, err)
	if err := w.shop.moveHead(old, moving{To: old.String()}); !errors.Is(err, errMoved) {
		t.Errorf("moved from where the branch is not: %v", err)
	}
	if now, err := w.shop.head(); err != nil || now.String() != done.Commit {
		t.Errorf("the branch is at %s, %v, want %s", now, err, done.Commit)
	}
	if _, err := os.Stat(filepath.Join(w.dir, gitDir, mainLock)); err == nil {
		t.Error("the lock file is left")
	}
}
