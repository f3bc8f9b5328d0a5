package records

import (
	"bytes"
	"compress/zlib"
	"context"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
	"time"

	"feedproof/records/signature"
	"feedproof/schema"

	"github.com/go-git/go-git/v5/plumbing"
	"github.com/go-git/go-git/v5/plumbing/filemode"
	"github.com/go-git/go-git/v5/plumbing/object"
)

// with forges a commit that adds an entry to a record.
func (w *world) with(signer string, kind schema.RecordKind, id string, e schema.Entry) string {
	return w.rewrite(signer, w.keys[signer], kind, id, func(r schema.Record) []byte { return r.With(e).Encode() })
}

// withAll forges a commit that adds entries to a car.
func (w *world) withAll(signer, car string, entries ...schema.Entry) string {
	return w.rewrite(signer, w.keys[signer], schema.VehicleRecord, car, func(r schema.Record) []byte { return r.With(entries...).Encode() })
}

// plant forges a commit by the lead that puts a tree entry into the folder of car-1.
func (w *world) plant(e object.TreeEntry) string {
	return w.forge("lead-1", w.keys["lead-1"], func(root plumbing.Hash) plumbing.Hash {
		p, err := recordPath(schema.VehicleRecord, "car-1")
		must(w.t, err)
		return w.insert(root, strings.Split(filepath.Dir(p), "/"), e)
	})
}

// insert puts a tree entry into a folder, whatever its name.
func (w *world) insert(root plumbing.Hash, dirs []string, e object.TreeEntry) plumbing.Hash {
	tree, err := readTree(w.shop.store, root)
	must(w.t, err)
	if len(dirs) > 0 {
		below, _ := find(tree, dirs[0])
		e = object.TreeEntry{Name: dirs[0], Mode: filemode.Dir, Hash: w.insert(below.Hash, dirs[1:], e)}
	}
	h, err := writeTree(w.shop.store, replace(tree.Entries, e))
	must(w.t, err)
	return h
}

func (w *world) blob(text string) plumbing.Hash {
	h, err := writeBlob(w.shop.store, []byte(text))
	must(w.t, err)
	must(w.t, w.shop.fresh.Sync())
	return h
}

// raised is a record as a file of the next version.
func raised(r schema.Record) []byte {
	return bytes.Replace(r.Encode(), []byte(`"version":1`), []byte(`"version":2`), 1)
}

// attacks are what somebody may try who can write to the remote, and has a key of the shop or none. Each gives the commit that they push.
var attacks = []struct {
	name  string
	forge func(*world) string
	says  string

	alongside bool // something honest was committed before it
}{
	{"the author is another", func(w *world) string {
		return w.forge("lead-1", w.keys["tech-1"], func(root plumbing.Hash) plumbing.Hash { return root })
	}, "names lead-1 as its author", false},
	{"a key that is nobody's", func(w *world) string {
		return w.forge("lead-1", newKey(w.t), func(root plumbing.Hash) plumbing.Hash { return root })
	}, "nobody's in this shop's roster", false},
	{"no signature", func(w *world) string {
		return w.forge("lead-1", nil, func(root plumbing.Hash) plumbing.Hash { return root })
	}, "is not signed", false},
	{"a technician signs off", func(w *world) string {
		return w.with("tech-1", schema.VehicleRecord, "car-1", w.signOff("tech-1", "car-1"))
	}, "may not write a signoff", false},
	{"a technician puts in a lead's sign-off", func(w *world) string {
		return w.with("tech-1", schema.VehicleRecord, "car-1", w.signOff("lead-1", "car-1"))
	}, "may not write a signoff", false},
	{"a sign-off of another car", func(w *world) string {
		e := w.signOff("lead-1", "car-1")
		w.vehicle("car-2")
		return w.with("lead-1", schema.VehicleRecord, "car-2", e)
	}, "which is not in this record", true},
	{"a statement of another car", func(w *world) string {
		st := w.statementOf("lead-1", "car-1")
		w.vehicle("car-2")
		return w.with("lead-1", schema.VehicleRecord, "car-2", w.entry("lead-1", schema.VehicleRecord, "car-2", st))
	}, "signs off car-1, and stands in car-2", true},
	{"a sign-off of other entries", func(w *world) string {
		st := w.statementOf("lead-1", "car-1")
		w.add("car-1", "and leaks")
		return w.with("lead-1", schema.VehicleRecord, "car-1", w.entry("lead-1", schema.VehicleRecord, "car-1", st))
	}, "signs off other entries", true},
	{"two entries that saw each other", func(w *world) string {
		one, other := schema.NewID(moment), schema.NewID(moment)
		a, b := w.fact("tech-1", "one"), w.fact("tech-1", "other")
		a.ID, b.ID = one, other
		return w.withAll("tech-1", "car-1",
			w.forged(schema.VehicleRecord, "car-1", a, func(o *schema.Origin) { o.After = []string{other} }),
			w.forged(schema.VehicleRecord, "car-1", b, func(o *schema.Origin) { o.After = []string{one} }))
	}, "which is not older", false},
	{"an entry that saw itself", func(w *world) string {
		f := w.fact("tech-1", "x")
		f.ID = schema.NewID(moment)
		return w.withAll("tech-1", "car-1", w.forged(schema.VehicleRecord, "car-1", f, func(o *schema.Origin) { o.After = []string{f.ID} }))
	}, "which is not older", false},
	{"an ancestor that is not there", func(w *world) string {
		return w.withAll("tech-1", "car-1", w.forged(schema.VehicleRecord, "car-1", w.fact("tech-1", "x"), func(o *schema.Origin) { o.After = []string{"01ZZ"} }))
	}, "names 01ZZ as seen, which is not in this record", false},
	{"a counter that locks the record", func(w *world) string {
		return w.withAll("tech-1", "car-1", w.forged(schema.VehicleRecord, "car-1", w.fact("tech-1", "x"), func(o *schema.Origin) { o.Counter = schema.MaxCounter }))
	}, "is not one more than the highest", false},
	{"slid in with a low counter", func(w *world) string {
		return w.withAll("tech-1", "car-1", w.forged(schema.VehicleRecord, "car-1", w.fact("tech-1", "x"), func(o *schema.Origin) { o.Counter = 1 }))
	}, "which is not older", false},
	{"a stranger's hand", func(w *world) string {
		f := w.fact("tech-1", "x")
		f.Key = newKey(w.t)
		return w.withAll("tech-1", "car-1", w.forged(schema.VehicleRecord, "car-1", f, nil))
	}, "does not verify", false},
	{"a lead's name in a technician's hand", func(w *world) string {
		f := w.fact("lead-1", "x")
		f.Key = w.keys["tech-1"]
		return w.withAll("tech-1", "car-1", w.forged(schema.VehicleRecord, "car-1", f, nil))
	}, "does not verify", false},
	{"an entry of another record", func(w *world) string {
		e := w.entry("tech-1", schema.VehicleRecord, "car-8", schema.NoteData{Text: "x"})
		r := schema.NewRecord(schema.VehicleRecord, "car-9").With(e)
		p, err := recordPath(schema.VehicleRecord, "car-9")
		must(w.t, err)
		return w.forge("tech-1", w.keys["tech-1"], func(root plumbing.Hash) plumbing.Hash {
			root, err := w.shop.writeText(root, p, r.Encode())
			must(w.t, err)
			return root
		})
	}, "does not verify", false},
	{"an entry of another shop", func(w *world) string {
		other := newShop(w.t)
		other.keys = w.keys
		e := w.forged(schema.VehicleRecord, "car-1", w.fact("tech-1", "x"), func(o *schema.Origin) {
			head, err := other.shop.head()
			must(w.t, err)
			o.Head = head.String()
		})
		return w.withAll("tech-1", "car-1", e)
	}, "is not in this shop", false},
	{"more lines than can be told apart", func(w *world) string {
		var all []schema.Entry
		for i := range 300 {
			all = append(all, w.forged(schema.VehicleRecord, "car-1", w.fact("tech-1", "x"), func(o *schema.Origin) { o.Device = fmt.Sprint("bay-", i) }))
		}
		return w.withAll("tech-1", "car-1", all...)
	}, "more entries than can be told apart", false},
	{"it happens after it was typed", func(w *world) string {
		f := w.fact("tech-1", "x")
		f.At = moment.Add(time.Hour)
		return w.withAll("tech-1", "car-1", w.forged(schema.VehicleRecord, "car-1", f, nil))
	}, "after it was typed", false},
	{"a commit that does not lead there", func(w *world) string {
		before, err := w.shop.head()
		must(w.t, err)
		w.add("car-1", "elsewhere")
		aside, err := w.shop.head()
		must(w.t, err)
		must(w.t, w.shop.moveHead(aside, moving{To: before.String()}))
		must(w.t, w.shop.git.Remove(movingFile))
		return w.withAll("tech-1", "car-1", w.forged(schema.VehicleRecord, "car-1", w.fact("tech-1", "x"), func(o *schema.Origin) { o.Head = aside.String() }))
	}, "stands on commit", false},
	{"an entry is edited", func(w *world) string {
		return w.rewrite("lead-1", w.keys["lead-1"], schema.VehicleRecord, "car-1", func(r schema.Record) []byte {
			return bytes.Replace(r.Encode(), []byte("whines"), []byte("sings."), 1)
		})
	}, "changes the note by tech-1", false},
	{"an entry is dropped", func(w *world) string {
		return w.rewrite("lead-1", w.keys["lead-1"], schema.VehicleRecord, "car-1", func(r schema.Record) []byte {
			r.Entries = r.Entries[:1]
			return r.Encode()
		})
	}, "drops the note by tech-1", false},
	{"a technician changes the roster", func(w *world) string {
		p := person("friend-1", schema.Lead)
		p.Key = signature.KeyLine(newKey(w.t).PublicKey())
		return w.with("tech-1", schema.ShopRecord, "", w.entry("tech-1", schema.ShopRecord, "", p))
	}, "may not write a person", false},
	{"the history is written anew", func(w *world) string {
		_, head, err := w.shop.snapshot()
		must(w.t, err)
		c, err := readCommit(w.shop.store, head)
		must(w.t, err)
		c.ParentHashes, c.PGPSignature = nil, ""
		h, err := writeCommit(w.shop.store, c, w.keys["lead-1"])
		must(w.t, err)
		must(w.t, w.shop.fresh.Sync())
		return h.String()
	}, "begins another shop", false},
	{"a path that climbs", func(w *world) string {
		return w.plant(object.TreeEntry{Name: "../../../run.json", Mode: filemode.Regular, Hash: w.blob("{}")})
	}, "is not a file name", false},
	{"a file named ..", func(w *world) string {
		return w.plant(object.TreeEntry{Name: "..", Mode: filemode.Regular, Hash: w.blob("{}")})
	}, "is not a file name", false},
	{"a folder named .git", func(w *world) string {
		return w.plant(object.TreeEntry{Name: ".GIT", Mode: filemode.Regular, Hash: w.blob("{}")})
	}, "is not a file name", false},
	{"a symbolic link", func(w *world) string {
		return w.plant(object.TreeEntry{Name: "car-2.json", Mode: filemode.Symlink, Hash: w.blob("/etc/passwd")})
	}, "neither a plain file nor a folder", false},
	{"a program", func(w *world) string {
		return w.plant(object.TreeEntry{Name: "car-2.json", Mode: filemode.Executable, Hash: w.blob("{}")})
	}, "neither a plain file nor a folder", false},
	{"another repository", func(w *world) string {
		return w.plant(object.TreeEntry{Name: "car-2.json", Mode: filemode.Submodule, Hash: w.blob("{}")})
	}, "neither a plain file nor a folder", false},
	{"a name that differs in case alone", func(w *world) string {
		r := schema.NewRecord(schema.VehicleRecord, "CAR-1").With(w.entry("tech-1", schema.VehicleRecord, "CAR-1", schema.NoteData{Text: "x"}))
		return w.plant(object.TreeEntry{Name: "CAR-1.json", Mode: filemode.Regular, Hash: w.blob(string(r.Encode()))})
	}, "in case alone", false},
	{"an entry of 10 MB", func(w *world) string {
		e := w.entry("tech-1", schema.VehicleRecord, "car-1", schema.NoteData{Text: "x"})
		return w.rewrite("tech-1", w.keys["tech-1"], schema.VehicleRecord, "car-1", func(r schema.Record) []byte {
			return bytes.Replace(r.With(e).Encode(), []byte(`"text":"x"`), []byte(`"text":"`+strings.Repeat("x", 10<<20)+`"`), 1)
		})
	}, "more than", false},
	{"JSON nested deep", func(w *world) string {
		return w.rewrite("tech-1", w.keys["tech-1"], schema.VehicleRecord, "car-1", func(schema.Record) []byte {
			return []byte(strings.Repeat(`[`, 1<<20))
		})
	}, "nested too deep", false},
	{"folders nested deep", func(w *world) string {
		return w.forge("lead-1", w.keys["lead-1"], func(root plumbing.Hash) plumbing.Hash {
			e := object.TreeEntry{Name: "a", Mode: filemode.Regular, Hash: w.blob("{}")}
			for range 2000 {
				tree, err := writeTree(w.shop.store, []object.TreeEntry{e})
				must(w.t, err)
				e = object.TreeEntry{Name: "a", Mode: filemode.Dir, Hash: tree}
			}
			return w.insert(root, nil, e)
		})
	}, "folders are nested too deep", false},
	{"not UTF-8", func(w *world) string {
		e := w.entry("tech-1", schema.VehicleRecord, "car-1", schema.NoteData{Text: "xyz"})
		return w.rewrite("tech-1", w.keys["tech-1"], schema.VehicleRecord, "car-1", func(r schema.Record) []byte {
			return bytes.Replace(r.With(e).Encode(), []byte("xyz"), []byte("x\xffz"), 1)
		})
	}, "not valid UTF-8", false},
	{"an entry with a field put in", func(w *world) string {
		e := w.entry("tech-1", schema.VehicleRecord, "car-1", schema.NoteData{Text: "xyz"})
		return w.rewrite("tech-1", w.keys["tech-1"], schema.VehicleRecord, "car-1", func(r schema.Record) []byte {
			return bytes.Replace(r.With(e).Encode(), []byte(`"text":"xyz"`), []byte(`"text":"xyz","zap":1`), 1)
		})
	}, "does not verify", false},
	{"an entry that breaks its schema", func(w *world) string {
		return w.with("tech-1", schema.VehicleRecord, "car-1", w.forged(schema.VehicleRecord, "car-1", Fact{By: "tech-1", Key: w.keys["tech-1"], Entered: moment, Data: schema.NoteData{}}, nil))
	}, "text", false},
	{"an entry in another form", func(w *world) string {
		e := w.entry("tech-1", schema.VehicleRecord, "car-1", schema.NoteData{Text: "xyz"})
		return w.rewrite("tech-1", w.keys["tech-1"], schema.VehicleRecord, "car-1", func(r schema.Record) []byte {
			return bytes.Replace(r.With(e).Encode(), []byte(`"text":"xyz"`), []byte(`"text": "xyz"`), 1)
		})
	}, "canonical form", false},
	{"a record in another form", func(w *world) string {
		return w.rewrite("tech-1", w.keys["tech-1"], schema.VehicleRecord, "car-1", func(r schema.Record) []byte {
			return bytes.ReplaceAll(r.Encode(), []byte("\n"), []byte("\r\n"))
		})
	}, "is not in the form", false},
	{"the shop's own file of a version that nobody knows", func(w *world) string {
		return w.rewrite("audit-1", w.keys["audit-1"], schema.ShopRecord, "", raised)
	}, "is of version 2", false},
	{"a car of a version that nobody knows", func(w *world) string {
		return w.rewrite("tech-1", w.keys["tech-1"], schema.VehicleRecord, "car-1", raised)
	}, "is of version 2", false},
	{"a new car of a version that nobody knows", func(w *world) string {
		r := schema.NewRecord(schema.VehicleRecord, "car-2").With(w.entry("lead-1", schema.VehicleRecord, "car-2", schema.NoteData{Text: "x"}))
		p, err := recordPath(schema.VehicleRecord, "car-2")
		must(w.t, err)
		return w.forge("lead-1", w.keys["lead-1"], func(root plumbing.Hash) plumbing.Hash {
			root, err := w.shop.writeText(root, p, raised(r))
			must(w.t, err)
			return root
		})
	}, "is of version 2", false},
	{"a counter beyond what can be counted", func(w *world) string {
		return w.with("lead-1", schema.ShopRecord, "", w.forged(schema.ShopRecord, "", Fact{By: "lead-1", Key: w.keys["lead-1"], Entered: moment, Data: schema.BayData{Bay: "1"}}, func(o *schema.Origin) { o.Counter = schema.MaxCounter - 1 }))
	}, "is not one more than the highest", false},
	{"one id in two records", func(w *world) string {
		w.vehicle("car-2")
		r, err := w.shop.Record(schema.VehicleRecord, "car-1")
		must(w.t, err)
		return w.with("tech-1", schema.VehicleRecord, "car-2", r.Entries[1])
	}, "another entry of this id", true},
	{"line ends would be converted", func(w *world) string {
		return w.forge("lead-1", w.keys["lead-1"], func(root plumbing.Hash) plumbing.Hash {
			return w.insert(root, nil, object.TreeEntry{Name: attributesFile, Mode: filemode.Regular, Hash: w.blob("* text\n")})
		})
	}, "content that does not belong", false},
	{"a program for git to run", func(w *world) string {
		return w.forge("lead-1", w.keys["lead-1"], func(root plumbing.Hash) plumbing.Hash {
			return w.insert(root, nil, object.TreeEntry{Name: ".gitmodules", Mode: filemode.Regular, Hash: w.blob("[submodule]\n")})
		})
	}, "record:", false},
}

// Each attack is refused, said in plain words, and leaves the shop as it was; what is right goes on between the bays all the same.
func TestAttacksOnWhatComesIn(t *testing.T) {
	t.Parallel()
	for _, attack := range attacks {
		t.Run(attack.name, func(t *testing.T) {
			t.Parallel()
			one, attacker, stick := bays(t)
			one.add("car-1", "pump whines")
			one.synced(stick)
			two := one.clone()
			two.shop.device.Name = "bay-3"
			attacker.synced(stick)
			overwrite(t, attacker, stick, attack.forge(attacker))
			one.shop.device.Remote, two.shop.device.Remote = stick, stick

			before := one.tree()
			report := one.synced(stick)
			if len(report.Aside) != 1 || !strings.Contains(report.Aside[0].Reason, attack.says) || !report.Aside[0].New {
				t.Fatalf("sync says %+v, want %q", report.Aside, attack.says)
			}
			list, err := one.shop.SetAside()
			if err != nil || len(list) != 1 || list[0].Reason != report.Aside[0].Reason {
				t.Errorf("set aside: %+v, %v", list, err)
			}
			if got := one.committed("car-1"); !attack.alongside && before != one.tree() || got[0] != "pump whines" {
				t.Errorf("the shop has %v", got)
			}
			one.goesOn(two, stick)
		})
	}
}

// goesOn holds that two bays still exchange records over a remote.
func (w *world) goesOn(other *world, remote string) {
	w.t.Helper()
	w.add("car-1", "one goes on")
	w.synced(remote)
	other.add("car-1", "two goes on")
	other.synced(remote)
	w.synced(remote)
	for _, bay := range []*world{w, other} {
		got := strings.Join(bay.committed("car-1"), "; ")
		if !strings.Contains(got, "one goes on") || !strings.Contains(got, "two goes on") {
			w.t.Errorf("after the exchange a bay has %s", got)
		}
		if _, err := bay.shop.Verify(context.Background(), nil); err != nil {
			w.t.Error(err)
		}
		fsck(w.t, filepath.Join(bay.dir, gitDir))
	}
	if w.tree() != other.tree() {
		w.t.Error("the bays differ")
	}
}

// lies puts a reference into a remote folder past git.
func lies(t *testing.T, remote, ref, content string) {
	t.Helper()
	file := filepath.Join(remote, gitDir, filepath.FromSlash(ref))
	must(t, os.MkdirAll(filepath.Dir(file), 0o755))
	must(t, os.WriteFile(file, []byte(content), 0o644))
}

// writeLoose writes a loose object into a remote folder as it is told: any header, any content, any name.
func writeLoose(t *testing.T, remote string, name plumbing.Hash, header string, content io.Reader) {
	t.Helper()
	file := filepath.Join(remote, gitDir, "objects", name.String()[:2], name.String()[2:])
	must(t, os.MkdirAll(filepath.Dir(file), 0o755))
	_ = os.Remove(file)
	out, err := os.Create(file)
	must(t, err)
	packed, err := zlib.NewWriterLevel(out, zlib.BestSpeed)
	must(t, err)
	_, err = io.WriteString(packed, header)
	must(t, err)
	_, err = io.Copy(packed, content)
	must(t, err)
	must(t, packed.Close())
	must(t, out.Close())
}

func TestARemoteThatLies(t *testing.T) {
	t.Parallel()
	nowhere := plumbing.NewHash("1234567890123456789012345678901234567890")
	for _, lie := range []struct {
		name string
		tell func(t *testing.T, w *world, stick string)
		says string
	}{
		{"a branch that leads nowhere", func(t *testing.T, _ *world, stick string) {
			lies(t, stick, string(mainRef), nowhere.String()+"\n")
		}, "cannot be read there"},
		{"an empty branch", func(t *testing.T, _ *world, stick string) { lies(t, stick, string(mainRef), "") }, "does not name a commit"},
		{"a branch of a file", func(t *testing.T, w *world, stick string) {
			w.git("push", "-q", "--force", filepath.Join(stick, gitDir), w.blob("x").String()+":refs/tags/x")
			lies(t, stick, string(mainRef), w.blob("x").String()+"\n")
		}, "cannot be read there"},
		{"an object of another content", func(t *testing.T, w *world, stick string) {
			writeLoose(t, stick, nowhere, "commit 4\x00", strings.NewReader("tree"))
			lies(t, stick, string(mainRef), nowhere.String()+"\n")
		}, "cannot be read there"},
		{"a file that unpacks to gigabytes", func(t *testing.T, w *world, stick string) {
			writeLoose(t, stick, nowhere, fmt.Sprintf("commit %d\x00", int64(1)<<31), io.LimitReader(zeros{}, 1<<27))
			lies(t, stick, string(mainRef), nowhere.String()+"\n")
		}, "cannot be read there"},
		{"a file that unpacks to more than it says", func(t *testing.T, w *world, stick string) {
			writeLoose(t, stick, nowhere, "commit 100\x00", io.LimitReader(zeros{}, 1<<27))
			lies(t, stick, string(mainRef), nowhere.String()+"\n")
		}, "cannot be read there"},
		{"a header that does not end", func(t *testing.T, w *world, stick string) {
			writeLoose(t, stick, nowhere, "", strings.NewReader(strings.Repeat("commit", 1<<24)))
			lies(t, stick, string(mainRef), nowhere.String()+"\n")
		}, "cannot be read there"},
		{"a record that unpacks to gigabytes", func(t *testing.T, w *world, stick string) {
			commit := w.rewrite("tech-1", w.keys["tech-1"], schema.VehicleRecord, "car-1", func(r schema.Record) []byte { return append(r.Encode(), ' ') })
			overwrite(t, w, stick, commit)
			snap, _, err := w.shop.snapshot()
			must(t, err)
			p, err := recordPath(schema.VehicleRecord, "car-1")
			must(t, err)
			e, err := snap.lookup(p)
			must(t, err)
			writeLoose(t, stick, e.Hash, fmt.Sprintf("blob %d\x00", int64(1)<<31), io.LimitReader(zeros{}, 1<<27))
		}, "unpacks to"},
	} {
		t.Run(lie.name, func(t *testing.T) {
			one, attacker, stick := bays(t)
			one.add("car-1", "pump whines")
			one.synced(stick)
			attacker.synced(stick)
			one.shop.device.Remote = stick
			before := one.tree()
			lie.tell(t, attacker, stick)
			var used runtime.MemStats
			runtime.ReadMemStats(&used)
			was := used.TotalAlloc
			report, err := one.sync(stick)
			runtime.ReadMemStats(&used)
			said := fmt.Sprint(err)
			if len(report.Aside) > 0 {
				said += report.Aside[0].Reason
			}
			if !strings.Contains(said, lie.says) {
				t.Errorf("sync says %s, want %q", said, lie.says)
			}
			if grown := used.TotalAlloc - was; grown > 64<<20 {
				t.Errorf("sync took %d MB of memory", grown>>20)
			}
			if one.tree() != before {
				t.Error("the shop changed")
			}
			one.add("car-1", "and goes on")
			_, err = one.shop.Verify(context.Background(), nil)
			must(t, err)
		})
	}
}
