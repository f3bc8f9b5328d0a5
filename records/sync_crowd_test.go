package records

import (
	"context"
	"fmt"
	"path/filepath"
	"slices"
	"sync"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// Several bays commit and exchange at once over one folder: nothing is lost, and git finds nothing wrong.
func TestBaysAtOnce(t *testing.T) {
	t.Parallel()
	if !long() {
		baysAtOnce(t, 4, 12)
		return
	}
	baysAtOnce(t, 4, 50)
	baysAtOnce(t, 8, 25)
}

func baysAtOnce(t *testing.T, machines, commits int) {
	one, _, stick := bays(t)
	one.vehicle("car-2")
	one.synced(stick)
	var all sync.WaitGroup
	worlds := make([]*world, machines)
	var want []string
	for i := range worlds {
		w := one.clone()
		w.shop.device.Name = fmt.Sprintf("bay-%d", i)
		worlds[i] = w
		for n := range commits {
			want = append(want, fmt.Sprintf("bay %d, note %d", i, n))
		}
		all.Go(func() {
			for n := range commits {
				w.add(fmt.Sprintf("car-%d", n%2+1), fmt.Sprintf("bay %d, note %d", i, n))
				w.synced(stick)
			}
		})
	}
	all.Wait()
	for _, w := range worlds {
		w.synced(stick)
		got := slices.Concat(w.committed("car-1"), w.committed("car-2"))
		slices.Sort(got)
		slices.Sort(want)
		if diff := cmp.Diff(want, got); diff != "" {
			t.Error(diff)
		}
		if w.tree() != worlds[0].tree() {
			t.Error("the bays differ")
		}
	}
	fsck(t, filepath.Join(stick, gitDir))
	for _, w := range []*world{worlds[0], worlds[machines-1]} {
		fsck(t, filepath.Join(w.dir, gitDir))
		_, err := w.shop.Verify(context.Background(), nil)
		must(t, err)
	}
}
