package records

import (
	"bytes"
	"context"
	"io"
	"os"
	"path"
	"path/filepath"
	"strings"
	"testing"

	"feedproof/schema"

	"github.com/go-git/go-git/v5/plumbing"
	"github.com/go-git/go-git/v5/plumbing/filemode"
	"github.com/go-git/go-git/v5/plumbing/object"
	"github.com/google/go-cmp/cmp"
	"golang.org/x/crypto/ssh"
)

// A laptop dies after it has synced: another bay takes up its drafts, photos and all.
func TestDraftsOfADeadLaptop(t *testing.T) {
	dead, two, stick := bays(t)
	dead.note("car-1", "pump whines")
	photo, _ := file(5000, 7)
	kept := dead.attach("car-1", photo)
	dead.synced(stick)
	must(t, os.RemoveAll(dead.dir))

	if r := two.synced(stick); cmp.Diff([]string{"bay-1"}, r.Drafts) != "" {
		t.Errorf("two says %+v", r)
	}
	if r := two.synced(stick); len(r.Drafts) > 0 {
		t.Errorf("once more two says %+v", r)
	}
	list, err := two.shop.TravelledDrafts()
	must(t, err)
	want := []TravelledDraft{{Device: "bay-1", By: "tech-1", When: moment, Entries: map[string]int{"car-1": 2}}}
	if diff := cmp.Diff(want, list); diff != "" {
		t.Error(diff)
	}
	for _, n := range []int{2, 0} {
		if adopted, err := two.shop.Adopt("bay-1"); err != nil || adopted != n {
			t.Errorf("adopted %d, want %d, %v", adopted, n, err)
		}
	}
	draft, err := two.shop.Draft("car-1")
	must(t, err)
	if diff := cmp.Diff([]string{"pump whines"}, notes(t, draft)); diff != "" {
		t.Error(diff)
	}
	in, err := two.shop.OpenEvidence(kept.SHA256)
	must(t, err)
	got, err := io.ReadAll(in)
	must(t, err)
	must(t, in.Close())
	if !bytes.Equal(got, photo) {
		t.Error("the photo has other bytes")
	}
	_, err = two.commit("car-1")
	must(t, err)
	if list, err := two.shop.TravelledDrafts(); err != nil || len(list) > 0 {
		t.Errorf("after the commit there are drafts %v, %v", list, err)
	}
	fsck(t, filepath.Join(two.dir, gitDir))
	fsck(t, filepath.Join(stick, gitDir))
}

// The laptop was only late: both commit the same entries, and they are the same.
func TestDraftsAdoptedAndCommittedTwice(t *testing.T) {
	one, two, stick := bays(t)
	one.note("car-1", "pump whines")
	one.synced(stick)
	two.synced(stick)
	_, err := two.shop.Adopt("bay-1")
	must(t, err)
	for _, w := range []*world{one, two} {
		_, err := w.commit("car-1")
		must(t, err)
		w.synced(stick)
	}
	one.synced(stick)
	two.synced(stick)
	if got := one.committed("car-1"); len(got) != 1 || one.tree() != two.tree() {
		t.Errorf("the car has %v", got)
	}
	_, err = one.shop.Verify(context.Background(), nil)
	must(t, err)
}

// A draft that is committed leaves an empty one behind.
func TestDraftsGoWhenTheyAreCommitted(t *testing.T) {
	one, two, stick := bays(t)
	one.note("car-1", "pump whines")
	one.synced(stick)
	_, err := one.commit("car-1")
	must(t, err)
	one.synced(stick)
	two.synced(stick)
	if list, err := two.shop.TravelledDrafts(); err != nil || len(list) > 0 {
		t.Errorf("there are drafts %v, %v", list, err)
	}
}

// Drafts by nobody, and what is no draft, are set aside.
func TestForgedDrafts(t *testing.T) {
	for _, try := range []struct {
		name  string
		forge func(w *world) plumbing.Hash
		says  string
	}{
		{"by nobody", func(w *world) plumbing.Hash { return w.drafts(newKey(w.t), "car-1.jsonl", "") }, "nobody's"},
		{"no entry", func(w *world) plumbing.Hash { return w.drafts(w.keys["tech-1"], "car-1.jsonl", "run\n") }, "invalid character"},
		{"an entry that no car has", func(w *world) plumbing.Hash {
			e := w.entry("tech-1", schema.ShopRecord, "", schema.BayData{Bay: "1"})
			return w.drafts(w.keys["tech-1"], "car-1.jsonl", string(e.Raw())+"\n")
		}, "bay"},
		{"a file of another kind", func(w *world) plumbing.Hash { return w.drafts(w.keys["tech-1"], "run.sh", "") }, "is no draft"},
		{"evidence of another name", func(w *world) plumbing.Hash {
			return w.drafts(w.keys["tech-1"], "evidence/aa/"+strings.Repeat("a", 64), "x")
		}, "other bytes"},
	} {
		t.Run(try.name, func(t *testing.T) {
			one, attacker, stick := bays(t)
			one.synced(stick)
			attacker.git("push", "-q", filepath.Join(stick, gitDir), try.forge(attacker).String()+":refs/drafts/bay-9")
			r := one.synced(stick)
			if len(r.Drafts) > 0 || len(r.Aside) != 1 || !strings.Contains(r.Aside[0].Reason, try.says) {
				t.Errorf("sync says %+v, want %q", r, try.says)
			}
			if list, err := one.shop.TravelledDrafts(); err != nil || len(list) > 0 {
				t.Errorf("there are drafts %v, %v", list, err)
			}
			fsck(t, filepath.Join(one.dir, gitDir))
		})
	}
}

// drafts forges a commit of one file.
func (w *world) drafts(key ssh.Signer, name, content string) plumbing.Hash {
	w.t.Helper()
	dir, base := path.Split(name)
	var dirs []string
	if dir != "" {
		dirs = strings.Split(path.Clean(dir), "/")
	}
	root := w.insert(plumbing.ZeroHash, dirs, object.TreeEntry{Name: base, Mode: filemode.Regular, Hash: w.blob(content)})
	who := author(person("tech-1"), moment)
	h, err := writeCommit(w.shop.store, &object.Commit{Author: who, Committer: who, Message: "drafts\n", TreeHash: root}, key)
	must(w.t, err)
	must(w.t, w.shop.fresh.Sync())
	return h
}
