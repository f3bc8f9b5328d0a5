package records

import (
	"bytes"
	"context"
	"errors"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"feedproof/records/signature"
	"feedproof/schema"

	"github.com/go-git/go-git/v5/plumbing"
	"github.com/go-git/go-git/v5/plumbing/object"
	"golang.org/x/crypto/ssh"
)

// forge commits a tree past every check, as someone would who edits the repository with other tools. A nil key leaves it unsigned.
func (w *world) forge(by string, key ssh.Signer, edit func(root plumbing.Hash) plumbing.Hash) string {
	w.t.Helper()
	snap, head, err := w.shop.snapshot()
	must(w.t, err)
	who := author(person(by), moment)
	c := &object.Commit{Author: who, Committer: who, Message: "forged\n", TreeHash: edit(snap.root), ParentHashes: []plumbing.Hash{head}}
	var hash plumbing.Hash
	if key != nil {
		hash, err = writeCommit(w.shop.store, c, key)
	} else {
		o := &plumbing.MemoryObject{}
		must(w.t, c.Encode(o))
		hash, err = w.shop.store.SetEncodedObject(o)
	}
	must(w.t, err)
	must(w.t, w.shop.moveHead(head, moving{To: hash.String()}))
	must(w.t, w.shop.git.Remove(movingFile))
	return hash.String()
}

// rewrite forges a commit that replaces a record by what edit makes of it.
func (w *world) rewrite(by string, key ssh.Signer, kind schema.RecordKind, id string, edit func(schema.Record) []byte) string {
	w.t.Helper()
	return w.forge(by, key, func(root plumbing.Hash) plumbing.Hash {
		r, err := w.shop.Record(kind, id)
		must(w.t, err)
		p, err := recordPath(kind, id)
		must(w.t, err)
		root, err = w.shop.writeText(root, p, edit(r))
		must(w.t, err)
		return root
	})
}

// signOff makes a sign-off of a car's record as it is.
func (w *world) signOff(by, id string) schema.Entry {
	w.t.Helper()
	return w.entry(by, schema.VehicleRecord, id, w.statementOf(by, id))
}

func (w *world) statementOf(by, id string) schema.SignOffData {
	w.t.Helper()
	r, err := w.shop.Record(schema.VehicleRecord, id)
	must(w.t, err)
	return w.statement(by, r)
}

func TestVerifyAcceptsAnHonestHistory(t *testing.T) {
	w := newShop(t)
	w.vehicle("car-1")
	w.note("car-1", "pump whines")
	_, err := w.commit("car-1")
	must(t, err)
	_, err = w.shop.SignOff(context.Background(), SignOffRequest{Vehicle: "car-1", By: "lead-1", Key: w.keys["lead-1"], Entry: w.signOff("lead-1", "car-1")})
	must(t, err)
	steps := 0
	report, err := w.shop.Verify(context.Background(), func(done, total int) {
		if steps++; done != steps || total != 6 {
			t.Errorf("progress %d of %d at step %d of 6", done, total, steps)
		}
	})
	must(t, err)
	if report.Commits != 6 || report.Records != 2 || report.Entries != 6 || report.SignOffs != 1 {
		t.Errorf("report is %+v", report)
	}
	if report.Pinned != signature.Fingerprint(w.keys["lead-1"].PublicKey()) {
		t.Errorf("pinned key is %s", report.Pinned)
	}
}

func TestVerifyRefusesATamperedHistory(t *testing.T) {
	t.Parallel()
	editNote := func(r schema.Record) []byte { return bytes.Replace(r.Encode(), []byte("whines"), []byte("sings."), 1) }
	stranger := newKey(t)
	for _, attack := range []struct {
		name   string
		forge  func(*world) string
		says   string
		person string
		path   string
	}{
		{"an entry is edited", func(w *world) string {
			return w.rewrite("lead-1", w.keys["lead-1"], schema.VehicleRecord, "car-1", editNote)
		}, "changes the note by tech-1", "lead-1", "car-1.json"},
		{"an entry is dropped", func(w *world) string {
			return w.rewrite("lead-1", w.keys["lead-1"], schema.VehicleRecord, "car-1", func(r schema.Record) []byte {
				r.Entries = r.Entries[:1]
				return r.Encode()
			})
		}, "drops the note by tech-1", "lead-1", "car-1.json"},
		{"a commit is not signed", func(w *world) string {
			return w.forge("lead-1", nil, func(root plumbing.Hash) plumbing.Hash { return root })
		}, "is not signed", "", ""},
		{"a key is not in the roster", func(w *world) string {
			return w.forge("lead-1", stranger, func(root plumbing.Hash) plumbing.Hash { return root })
		}, "nobody's in this shop's roster", "", ""},
		{"a technician adds a person", func(w *world) string {
			p := person("friend-1", schema.Lead)
			p.Key = signature.KeyLine(stranger.PublicKey())
			e := w.entry("lead-1", schema.ShopRecord, "", p)
			return w.rewrite("tech-1", w.keys["tech-1"], schema.ShopRecord, "", func(r schema.Record) []byte { return r.With(e).Encode() })
		}, "may not write a person", "tech-1", "shop.json"},
		{"a technician signs off", func(w *world) string {
			e := w.signOff("tech-1", "car-1")
			return w.rewrite("tech-1", w.keys["tech-1"], schema.VehicleRecord, "car-1", func(r schema.Record) []byte { return r.With(e).Encode() })
		}, "may not write a signoff", "tech-1", "car-1.json"},
		{"a revoked key signs", func(w *world) string {
			must(w.t, w.put("lead-1", schema.ShopRecord, "", schema.KeyData{
				Person: "tech-1", Key: signature.KeyLine(w.keys["tech-1"].PublicKey()), Action: "revoke", Why: "left the shop",
			}))
			return w.forge("tech-1", w.keys["tech-1"], func(root plumbing.Hash) plumbing.Hash { return root })
		}, "was revoked at counter", "tech-1", ""},
		{"a sign-off is of other entries", func(w *world) string {
			st := w.statementOf("lead-1", "car-1")
			w.note("car-1", "and leaks")
			_, err := w.commit("car-1")
			must(w.t, err)
			e := w.entry("lead-1", schema.VehicleRecord, "car-1", st)
			return w.rewrite("lead-1", w.keys["lead-1"], schema.VehicleRecord, "car-1", func(r schema.Record) []byte { return r.With(e).Encode() })
		}, "signs off other entries", "lead-1", "car-1.json"},
		{"a sign-off is replayed on another car", func(w *world) string {
			st := w.statementOf("lead-1", "car-1")
			w.vehicle("car-2")
			e := w.entry("lead-1", schema.VehicleRecord, "car-2", st)
			return w.rewrite("lead-1", w.keys["lead-1"], schema.VehicleRecord, "car-2", func(r schema.Record) []byte { return r.With(e).Encode() })
		}, "signs off car-1, and stands in car-2", "lead-1", "car-2.json"},
		{"an entry stands in two records", func(w *world) string {
			r, err := w.shop.Record(schema.VehicleRecord, "car-1")
			must(w.t, err)
			w.vehicle("car-2")
			return w.rewrite("tech-1", w.keys["tech-1"], schema.VehicleRecord, "car-2", func(two schema.Record) []byte {
				return two.With(r.Entries[1]).Encode()
			})
		}, "another entry of this id", "tech-1", "car-2.json"},
		{"a record is removed", func(w *world) string {
			return w.forge("lead-1", w.keys["lead-1"], func(root plumbing.Hash) plumbing.Hash {
				tree, err := readTree(w.shop.store, root)
				must(w.t, err)
				var kept []object.TreeEntry
				for _, e := range tree.Entries {
					if e.Name != "vehicles" {
						kept = append(kept, e)
					}
				}
				root, err = writeTree(w.shop.store, kept)
				must(w.t, err)
				return root
			})
		}, "is removed", "lead-1", "car-1.json"},
		{"a record stands in the wrong place", func(w *world) string {
			return w.forge("lead-1", w.keys["lead-1"], func(root plumbing.Hash) plumbing.Hash {
				r, err := w.shop.Record(schema.VehicleRecord, "car-1")
				must(w.t, err)
				root, err = w.shop.writeText(root, "vehicles/zz/car-1.json", r.Encode())
				must(w.t, err)
				return root
			})
		}, "does not belong there", "lead-1", "vehicles/zz/car-1.json"},
		{"a file is no record", func(w *world) string {
			return w.forge("lead-1", w.keys["lead-1"], func(root plumbing.Hash) plumbing.Hash {
				root, err := w.shop.writeText(root, "run.sh", []byte("echo\n"))
				must(w.t, err)
				return root
			})
		}, "record:", "lead-1", "run.sh"},
		{"line ends would be converted", func(w *world) string {
			return w.forge("lead-1", w.keys["lead-1"], func(root plumbing.Hash) plumbing.Hash {
				root, err := w.shop.writeText(root, attributesFile, []byte("* text\n"))
				must(w.t, err)
				return root
			})
		}, "content that does not belong", "lead-1", attributesFile},
	} {
		t.Run(attack.name, func(t *testing.T) {
			w := newShop(t)
			w.vehicle("car-1")
			w.note("car-1", "pump whines")
			_, err := w.commit("car-1")
			must(t, err)
			_, err = w.shop.Verify(context.Background(), nil)
			must(t, err)
			commit := attack.forge(w)
			_, err = w.shop.Verify(context.Background(), nil)
			var fault *VerifyError
			if !errors.As(err, &fault) {
				t.Fatalf("Verify says %v", err)
			}
			if fault.Commit != commit || fault.Person != attack.person || !strings.HasSuffix(fault.Path, attack.path) ||
				!strings.Contains(fault.Error(), attack.says) {
				t.Errorf("Verify says %v, want commit %s, person %q, file %q, %q", fault, commit, attack.person, attack.path, attack.says)
			}
		})
	}
}

func TestVerifyRefusesAnotherShop(t *testing.T) {
	w, other := newShop(t), newShop(t)
	w.shop.device.Pinned = other.shop.device.Pinned
	_, err := w.shop.Verify(context.Background(), nil)
	var fault *VerifyError
	if !errors.As(err, &fault) || !strings.Contains(err.Error(), "this is another shop") {
		t.Errorf("Verify says %v", err)
	}
}

func TestVerifyNoticesADamagedObject(t *testing.T) {
	w := newShop(t)
	w.vehicle("car-1")
	snap, _, err := w.shop.snapshot()
	must(t, err)
	p, err := recordPath(schema.VehicleRecord, "car-1")
	must(t, err)
	entry, err := snap.lookup(p)
	must(t, err)
	other, err := writeBlob(w.shop.store, []byte("something else"))
	must(t, err)
	must(t, w.shop.fresh.Sync())
	object := func(h plumbing.Hash) string {
		return filepath.Join(w.dir, gitDir, "objects", h.String()[:2], h.String()[2:])
	}
	must(t, os.Rename(object(other), object(entry.Hash)))
	again, err := Open(w.dir)
	must(t, err)
	if _, err := again.Record(schema.VehicleRecord, "car-1"); err == nil || !strings.Contains(err.Error(), "wrong content") {
		t.Errorf("Record says %v", err)
	}
	var fault *VerifyError
	if _, err := again.Verify(context.Background(), nil); !errors.As(err, &fault) {
		t.Errorf("Verify says %v", err)
	}
}

// The outside judges: git itself, and OpenSSH.
func TestGitAcceptsEveryCommit(t *testing.T) {
	w := newShop(t)
	w.vehicle("car-1")
	w.note("car-1", "pump whines")
	_, err := w.commit("car-1")
	must(t, err)
	roster, err := w.shop.Roster()
	must(t, err)
	allowed := filepath.Join(t.TempDir(), "allowed_signers")
	must(t, os.WriteFile(allowed, []byte(roster.AllowedSigners()), 0o644))
	commits := strings.Fields(w.git("rev-list", "main"))
	if len(commits) != 5 {
		t.Fatalf("git lists %d commits, want 5", len(commits))
	}
	for _, c := range commits {
		out := w.git("-c", "gpg.format=ssh", "-c", "gpg.ssh.allowedSignersFile="+allowed, "verify-commit", "-v", c)
		if !strings.Contains(out, "Good \"git\" signature for") {
			t.Errorf("git verify-commit says %s", out)
		}
	}
	clone := filepath.Join(t.TempDir(), "clone")
	w.git("clone", "-q", ".", clone)
	fsck(t, clone)
	p, err := recordPath(schema.VehicleRecord, "car-1")
	must(t, err)
	inClone, err := os.ReadFile(filepath.Join(clone, p))
	must(t, err)
	r, err := w.shop.Record(schema.VehicleRecord, "car-1")
	must(t, err)
	if !bytes.Equal(inClone, r.Encode()) {
		t.Error("the clone's record has other bytes")
	}
}

func TestShopReadsWhatGitPacked(t *testing.T) {
	w := newShop(t)
	w.vehicle("car-1")
	open, err := Open(w.dir)
	must(t, err)
	w.note("car-1", "before packing")
	_, err = w.commit("car-1")
	must(t, err)
	w.git("gc", "-q", "--prune=now")
	if _, err := os.Stat(filepath.Join(w.dir, gitDir, string(mainRef))); err == nil {
		t.Fatal("git gc left the branch loose: the test does not test")
	}
	for name, shop := range map[string]*Shop{"opened before": open, "the writer": w.shop} {
		r, err := shop.Record(schema.VehicleRecord, "car-1")
		if err != nil || len(r.Entries) != 2 {
			t.Errorf("%s: %d entries, %v", name, len(r.Entries), err)
		}
	}
	w.note("car-1", "after packing")
	_, err = w.commit("car-1")
	must(t, err)
	_, err = w.shop.Verify(context.Background(), nil)
	must(t, err)
	fsck(t, filepath.Join(w.dir, gitDir))
}

func TestEmptyBranchIsNotReadAsAnOlderOne(t *testing.T) {
	w := newShop(t)
	w.vehicle("car-1")
	w.git("pack-refs", "--all")
	w.note("car-1", "x")
	done, err := w.commit("car-1")
	must(t, err)
	branch := filepath.Join(w.dir, gitDir, string(mainRef))
	must(t, os.WriteFile(branch, nil, 0o644))
	_, err = Open(w.dir)
	var broken *BrokenRefError
	if !errors.As(err, &broken) || len(broken.Tips) != 1 || broken.Tips[0] != done.Commit {
		t.Fatalf("Open says %v, want the tip %s", err, done.Commit)
	}
	must(t, os.WriteFile(branch, []byte(broken.Tips[0]+"\n"), 0o644))
	_, err = Open(w.dir)
	must(t, err)
}

func TestOpenSSHAcceptsASignOff(t *testing.T) {
	w := newShop(t)
	w.vehicle("car-1")
	e := w.signOff("lead-1", "car-1")
	_, err := w.shop.SignOff(context.Background(), SignOffRequest{Vehicle: "car-1", By: "lead-1", Key: w.keys["lead-1"], Entry: e})
	must(t, err)
	roster, err := w.shop.Roster()
	must(t, err)
	statement, armored := signed(t, e)
	dir := t.TempDir()
	write := func(name, content string) string {
		file := filepath.Join(dir, name)
		must(t, os.WriteFile(file, []byte(content), 0o600))
		return file
	}
	check := func(statement string) error {
		cmd := exec.Command("ssh-keygen", "-Y", "verify", "-f", write("allowed", roster.AllowedSigners()), "-I", "lead-1",
			"-n", string(signature.Statement), "-s", write("sig", armored))
		cmd.Stdin = strings.NewReader(statement)
		return cmd.Run()
	}
	must(t, check(statement))
	if check(statement+" ") == nil {
		t.Error("ssh-keygen accepts a changed statement: the test does not test")
	}
}
