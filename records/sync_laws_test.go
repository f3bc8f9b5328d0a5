package records

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"feedproof/records/internal/gitfs"
	"feedproof/records/internal/gitfstest"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

// Three bays and two sticks, carried about in any order: in the end all have the same, and every note.
func TestExchangesOfAnyShapeAgree(t *testing.T) {
	t.Parallel()
	first := newBase(t)
	rapid.Check(t, func(rt *rapid.T) {
		bays := []*world{first.copy(), first.copy(), first.copy()}
		sticks := []gitfs.Disk{gitfstest.NewMemory(), gitfstest.NewMemory()}
		var written []string
		var drawn strings.Builder
		carry := func(bay, stick int) {
			fmt.Fprintf(&drawn, "bay %d <-> stick %d\n", bay, stick)
			exchangeOn(t, bays[bay], sticks[stick], func(_ testing.TB, err error) {
				if err != nil {
					rt.Fatalf("%v after\n%s", err, &drawn)
				}
			})
		}
		for i := range rapid.IntRange(1, 7).Draw(rt, "steps") {
			bay := rapid.IntRange(0, 2).Draw(rt, "bay")
			if rapid.Bool().Draw(rt, "carry") {
				carry(bay, rapid.IntRange(0, 1).Draw(rt, "stick"))
				continue
			}
			text := fmt.Sprintf("note %d", i)
			fmt.Fprintf(&drawn, "bay %d: %s\n", bay, text)
			bays[bay].add("car-1", text)
			written = append(written, text)
		}
		for _, stick := range []int{0, 1, 0} {
			for bay := range bays {
				carry(bay, stick)
			}
		}
		for bay := range bays {
			carry(bay, 0)
			got := bays[bay].committed("car-1")
			slices.Sort(got)
			slices.Sort(written)
			if diff := cmp.Diff(written, got); diff != "" {
				rt.Fatalf("bay %d: %s after\n%s", bay, diff, &drawn)
			}
			if bays[bay].tree() != bays[0].tree() {
				rt.Fatalf("bay %d differs after\n%s", bay, &drawn)
			}
		}
	})
}
