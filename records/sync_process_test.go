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

// A process is killed at random moments, mostly while it exchanges with a folder that another bay writes to as well. Git finds no fault in
// either, what was acknowledged is there, and the next exchange brings everything to both bays.
func TestKilledInSync(t *testing.T) {
	one, two, stick := bays(t)
	key := one.keyFile()
	one.synced(stick)
	two.synced(stick)
	t.Setenv(stickEnv, stick)
	dice := rand.New(rand.NewPCG(7, 7))
	runs, inSync := kills(), 0
	if !long() {
		runs /= 5 // git looks through two repositories after each
	}
	usual := 50 * time.Millisecond // what an exchange takes here
	var acknowledged []string
	for i := range runs {
		other := fmt.Sprintf("two-%d", i)
		two.add("car-1", other)
		two.synced(stick)
		acknowledged = append(acknowledged, other)
		death := killing{done: "synced", rounds: i % 2, usual: &usual, dice: dice} // an odd run ends in its second exchange
		committed, hit := one.killWriter(key, fmt.Sprintf("one-%d", i), "car-1", death)
		acknowledged = append(acknowledged, committed...)
		if hit {
			inSync++
		}
		fsck(t, filepath.Join(one.dir, gitDir))
		fsck(t, filepath.Join(stick, gitDir))
	}
	t.Logf("%d kills, %d of them while exchanging", runs, inSync)
	if inSync < runs/4 {
		t.Errorf("%d of %d kills hit an exchange: the test does not test", inSync, runs)
	}
	var err error
	one.shop, err = Open(one.dir)
	must(t, err)
	one.synced(stick)
	two.synced(stick)
	for _, w := range []*world{one, two} {
		inRecord, _ := w.texts("car-1")
		for _, text := range acknowledged {
			if !slices.Contains(inRecord, text) {
				t.Errorf("%s: lost %s", w.shop.device.Name, text)
			}
		}
		if _, err := w.shop.Verify(context.Background(), nil); err != nil {
			t.Error(err)
		}
	}
}
