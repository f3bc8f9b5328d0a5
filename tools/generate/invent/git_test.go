package invent

import (
	"bytes"
	"os/exec"
	"slices"
	"strings"
	"testing"

	"feedproof/records"
	"feedproof/schema"
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

// TestGitAgrees holds what the program says of each car's history to git log
// on its path, commit by commit, and the bytes of every record that it hands
// to the index to git show.
func TestGitAgrees(t *testing.T) {
	dir := t.TempDir()
	if _, err := Shop(t.Context(), dir, Options{Cars: 4, Visits: 2, Readings: 20, Seed: 3}); err != nil {
		t.Fatal(err)
	}
	shop, err := records.Open(dir)
	if err != nil {
		t.Fatal(err)
	}
	view, err := shop.View()
	if err != nil {
		t.Fatal(err)
	}
	commits, files := 0, 0
	for _, kind := range []schema.RecordKind{schema.VehicleRecord, schema.PartRecord, schema.GaugeRecord} {
		folders, err := view.Folders(kind)
		if err != nil {
			t.Fatal(err)
		}
		for _, folder := range folders {
			list, err := view.Files(folder)
			if err != nil {
				t.Fatal(err)
			}
			for _, f := range list {
				files++
				ours, err := view.Read(f)
				if err != nil {
					t.Fatal(err)
				}
				if !bytes.Equal(ours, git(t, dir, "show", view.Commit()+":"+f.Path)) {
					t.Errorf("%s: other bytes than git show", f.Path)
				}
				commits += sameCommits(t, shop, dir, f)
			}
		}
	}
	if files < 14 || commits < 14 {
		t.Errorf("%d files and %d commits: the shop is too small to show anything", files, commits)
	}
}

// sameCommits compares the commits of a record with those of git log.
func sameCommits(t *testing.T, shop *records.Shop, dir string, f records.File) int {
	t.Helper()
	changes, err := shop.History(f.Kind, f.ID)
	if err != nil {
		t.Fatal(err)
	}
	var ours []string
	for _, c := range changes {
		ours = append(ours, c.Commit)
	}
	theirs := strings.Fields(string(git(t, dir, "log", "--format=%H", "--reverse", "--topo-order", "--", f.Path)))
	if !slices.Equal(ours, theirs) {
		t.Errorf("%s: history says %v, git log %v", f.Path, ours, theirs)
	}
	return len(ours)
}
