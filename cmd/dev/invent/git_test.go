package invent

import (
	"bytes"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"feedproof/records"
	"feedproof/schema"

	"golang.org/x/crypto/ssh"
)

// git runs the git program on a shop's repository.
func git(t *testing.T, dir string, args ...string) []byte {
	t.Helper()
	out, err := exec.Command("git", append([]string{"--git-dir", dir + "/shop.git"}, args...)...).Output()
	if err != nil {
		t.Fatalf("git %v: %v", args, err)
	}
	return out
}

// TestGitAgrees holds what the program says of each record's history to git
// log on its path, commit by commit, and the bytes of every record that it
// hands to the index to git show: of a shop whose commits stand in a row, and
// of one whose cars were written on two machines at once and merged.
func TestGitAgrees(t *testing.T) {
	dir := t.TempDir()
	o := Options{Cars: 4, Visits: 2, Readings: 20, Seed: 3}
	if _, err := Shop(t.Context(), dir, o); err != nil {
		t.Fatal(err)
	}
	if merges := agrees(t, dir); merges != 0 {
		t.Errorf("%d merges where nothing was merged", merges)
	}
	other, cars := onTwoMachines(t, dir, o.Seed)
	for _, machine := range []string{dir, other} {
		if merges := agrees(t, machine); merges < cars {
			t.Errorf("%d merges of records for %d cars that both machines wrote", merges, cars)
		}
	}
}

// agrees compares every record of a shop with git, and counts the merges in
// their histories.
func agrees(t *testing.T, dir string) (merges int) {
	t.Helper()
	shop := open(t, dir)
	view, err := shop.View()
	if err != nil {
		t.Fatal(err)
	}
	commits, all := 0, listed(t, view, schema.VehicleRecord, schema.PartRecord, schema.GaugeRecord)
	for _, f := range all {
		ours, err := view.Read(f)
		if err != nil {
			t.Fatal(err)
		}
		if !bytes.Equal(ours, git(t, dir, "show", view.Commit()+":"+f.Path)) {
			t.Errorf("%s: other bytes than git show", f.Path)
		}
		changes := sameCommits(t, shop, dir, f)
		commits += len(changes)
		for _, c := range changes {
			if c.Merge {
				merges++
			}
		}
	}
	if len(all) < 14 || commits < 14 {
		t.Errorf("%d files and %d commits: the shop is too small to show anything", len(all), commits)
	}
	return merges
}

func open(t *testing.T, dir string) *records.Shop {
	t.Helper()
	shop, err := records.Open(dir)
	if err != nil {
		t.Fatal(err)
	}
	return shop
}

// listed are the records of some kinds.
func listed(t *testing.T, view records.View, kinds ...schema.RecordKind) (all []records.File) {
	t.Helper()
	for _, kind := range kinds {
		folders, err := view.Folders(kind)
		if err != nil {
			t.Fatal(err)
		}
		for _, folder := range folders {
			list, err := view.Files(folder)
			if err != nil {
				t.Fatal(err)
			}
			all = append(all, list...)
		}
	}
	return all
}

// sameCommits compares the commits of a record with those of git log. Where
// two lines met, git may tell one before the other; either comes before the
// merge.
func sameCommits(t *testing.T, shop *records.Shop, dir string, f records.File) []records.Change {
	t.Helper()
	changes, err := shop.History(t.Context(), f.Kind, f.ID, nil)
	if err != nil {
		t.Fatal(err)
	}
	var ours []string
	merged := false
	for _, c := range changes {
		ours = append(ours, c.Commit)
		merged = merged || c.Merge
	}
	theirs := strings.Fields(string(git(t, dir, "log", "--format=%H", "--reverse", "--topo-order", "--", f.Path)))
	if merged {
		parentsFirst(t, dir, ours)
		slices.Sort(ours)
		slices.Sort(theirs)
	}
	if !slices.Equal(ours, theirs) {
		t.Errorf("%s: history says %v, git log %v", f.Path, ours, theirs)
	}
	return changes
}

// parentsFirst has git say that no commit is an ancestor of one before it.
func parentsFirst(t *testing.T, dir string, commits []string) {
	t.Helper()
	for i := 1; i < len(commits); i++ {
		if n := strings.TrimSpace(string(git(t, dir, "rev-list", "--count", commits[i-1], "^"+commits[i]))); n == "0" {
			continue // the one before is among its ancestors
		}
		if n := strings.TrimSpace(string(git(t, dir, "rev-list", "--count", commits[i], "^"+commits[i-1]))); n == "0" {
			t.Errorf("%.12s stands after %.12s, which grew from it", commits[i], commits[i-1])
		}
	}
}

// onTwoMachines has a second machine join the shop, both write every car, one
// of them twice, and both exchange over a folder until they hold the same.
func onTwoMachines(t *testing.T, dir string, seed uint64) (other string, cars int) {
	t.Helper()
	stick, other := t.TempDir(), filepath.Join(t.TempDir(), "other")
	one := open(t, dir)
	exchange := func(s *records.Shop, by string) {
		t.Helper()
		key := func() (ssh.Signer, error) { return keyOf(seed, by) }
		if _, err := s.Sync(t.Context(), stick, records.SyncOptions{By: by, Key: key, Now: func() time.Time { return Today }}); err != nil {
			t.Fatal(err)
		}
	}
	exchange(one, "lead-1")
	two, _, err := records.Join(t.Context(), stick, other, records.JoinOptions{Fingerprint: one.Device().Pinned, Device: records.Device{Name: "bay-2"}})
	if err != nil {
		t.Fatal(err)
	}
	view, err := one.View()
	if err != nil {
		t.Fatal(err)
	}
	all := listed(t, view, schema.VehicleRecord)
	for _, f := range all {
		note(t, one, f.ID, "tech-1", seed)
		note(t, two, f.ID, "tech-2", seed)
		note(t, two, f.ID, "tech-2", seed)
	}
	exchange(one, "lead-1")
	exchange(two, "lead-2")
	exchange(one, "lead-1")
	return other, len(all)
}

// note commits one more entry.
func note(t *testing.T, s *records.Shop, vehicle, by string, seed uint64) {
	t.Helper()
	key, err := keyOf(seed, by)
	if err != nil {
		t.Fatal(err)
	}
	shown, err := s.Show(schema.VehicleRecord, vehicle)
	if err != nil {
		t.Fatal(err)
	}
	written, err := s.Write(shown, records.Fact{By: by, Key: key, Entered: Today, Data: schema.NoteData{Text: "seen by " + by}})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := s.Commit(t.Context(), records.CommitRequest{Vehicle: vehicle, By: by, Key: key, Extra: written, Now: func() time.Time { return Today }}); err != nil {
		t.Fatal(err)
	}
}
