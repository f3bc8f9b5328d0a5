package invent

import (
	"os/exec"
	"strings"
	"testing"
)

// TestSameSeedSameRecords compares the folders of records of two shops by git:
// the same seed makes the same bytes, and another seed others. The shop's own
// record begins with an entry whose id is by chance.
func TestSameSeedSameRecords(t *testing.T) {
	tree := func(seed uint64) string {
		dir := t.TempDir()
		made, err := Shop(t.Context(), dir, Options{Cars: 2, Visits: 2, Readings: 20, Seed: seed})
		if err != nil {
			t.Fatal(err)
		}
		if made.Cars != 2 || made.Visits < 2 || made.Readings < 15*made.Visits || made.Parts == 0 {
			t.Errorf("made %+v", made)
		}
		out, err := exec.Command("git", "--git-dir", dir+"/shop.git", "rev-parse", "HEAD:vehicles", "HEAD:parts", "HEAD:gauges", "HEAD:evidence").CombinedOutput()
		if err != nil {
			t.Fatalf("%v: %s", err, out)
		}
		return strings.Join(strings.Fields(string(out)), " ")
	}
	first, again, other := tree(1), tree(1), tree(2)
	if first != again {
		t.Errorf("the same seed made %s and %s", first, again)
	}
	if first == other {
		t.Error("another seed made the same shop")
	}
}
