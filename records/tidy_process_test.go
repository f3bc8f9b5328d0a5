package records

import (
	"context"
	"fmt"
	"math/rand/v2"
	"path/filepath"
	"slices"
	"testing"
	"time"
)

// A process is killed at random moments, mostly while it tidies. Whatever it acknowledged is there, git finds no fault, and the next process
// goes on.
func TestKilledInTidy(t *testing.T) {
	t.Parallel()
	w := newShop(t)
	key := w.keyFile()
	dice := rand.New(rand.NewPCG(5, 5))
	inTidy, halfDone := 0, 0
	usual := 20 * time.Millisecond // what tidying takes here
	for i := range kills() {
		car := fmt.Sprintf("car-%d", i/10)
		if i%10 == 0 {
			w.vehicle(car)
		}
		death := killing{done: "tidied", rounds: 1, usual: &usual, dice: dice}
		acknowledged, hit := w.killWriter(key, fmt.Sprintf("%s%d", tidies, i), car, death)
		if hit {
			inTidy++
		}
		loose, err := w.shop.looseObjects()
		must(t, err)
		if len(loose) > 0 {
			halfDone++
		}
		inRecord, _ := w.texts(car)
		for _, text := range acknowledged {
			if !slices.Contains(inRecord, text) {
				t.Errorf("run %d: lost committed %s", i, text)
			}
		}
		fsck(t, filepath.Join(w.dir, gitDir))
	}
	t.Logf("%d kills, %d of them while tidying, %d left it half done", kills(), inTidy, halfDone)
	if inTidy < kills()/4 || halfDone < kills()/10 {
		t.Errorf("%d of %d kills hit tidying, %d left it half done: the test does not test", inTidy, kills(), halfDone)
	}
	if _, err := w.shop.Verify(context.Background(), nil); err != nil {
		t.Error(err)
	}
	report, err := w.shop.Tidy(context.Background(), nil)
	must(t, err)
	if loose, err := w.shop.looseObjects(); err != nil || len(loose) > 0 || report.Packs > 8 {
		t.Errorf("tidied in the end as %+v, with %d loose objects, %v", report, len(loose), err)
	}
}

// Two processes write and tidy while this one reads all the time, in a shop that it opened before.
func TestTidyBesideWritersAndReaders(t *testing.T) {
	t.Parallel()
	w := newShop(t)
	w.vehicle("car-1")
	w.vehicle("car-2")
	key := w.keyFile()
	const rounds = 12
	over := make(chan error, 2)
	for i, car := range []string{"car-1", "car-2"} {
		cmd, lines, said := w.startWriter(key, fmt.Sprintf("%s%d", tidies, i), car, rounds)
		go func() {
			for lines.Scan() {
			}
			if err := cmd.Wait(); err != nil {
				over <- fmt.Errorf("writer %d: %w %s", i, err, said)
				return
			}
			over <- nil
		}()
	}
	reader, err := Open(w.dir)
	must(t, err)
	reads := 0
	for left := 2; left > 0; reads++ {
		if _, err := reader.Verify(context.Background(), nil); err != nil {
			t.Fatalf("after reading %d times: %v", reads, err)
		}
		select {
		case err := <-over:
			must(t, err)
			left--
		default:
		}
	}
	for _, car := range []string{"car-1", "car-2"} {
		if inRecord, _ := w.texts(car); len(inRecord) != rounds {
			t.Errorf("%s: %d notes, want %d", car, len(inRecord), rounds)
		}
	}
	t.Logf("read the whole history %d times meanwhile", reads)
	fsck(t, filepath.Join(w.dir, gitDir))
}
