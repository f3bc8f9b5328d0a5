package records

import (
	"context"
	"errors"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"feedproof/records/internal/gitfs"
	"feedproof/records/signature"
	"feedproof/schema"

	"github.com/google/go-cmp/cmp"
	"golang.org/x/crypto/ssh"
)

// moment is when the invented shop's story happens.
var moment = time.Date(2026, 3, 2, 9, 14, 5, 0, time.UTC)

func clock() time.Time { return moment }

// world is an invented shop and the keys of its people: a lead, a technician and an auditor.
type world struct {
	t    testing.TB
	dir  string
	shop *Shop
	keys map[string]ssh.Signer

	crowd []schema.Entry // shared by the cars of a crowd
}

func person(id string, roles ...schema.Role) schema.PersonData {
	return schema.PersonData{Person: id, Name: "Person " + id, Roles: roles}
}

func newKey(t testing.TB) ssh.Signer {
	t.Helper()
	key, _, err := signature.NewKey("", nil)
	must(t, err)
	return key
}

func must(t testing.TB, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

// newShop makes a shop with its people in a new folder.
func newShop(t testing.TB) *world {
	t.Helper()
	dir := t.TempDir()
	return newShopOn(t, dir, gitfs.Folder(dir))
}

func newShopOn(t testing.TB, dir string, d gitfs.Disk) *world {
	t.Helper()
	w := &world{t: t, dir: dir, keys: map[string]ssh.Signer{"lead-1": newKey(t), "tech-1": newKey(t), "audit-1": newKey(t)}}
	must(t, os.MkdirAll(filepath.Join(dir, gitDir), 0o755))
	must(t, os.MkdirAll(filepath.Join(dir, draftsDir), 0o755))
	var err error
	w.shop, err = create(dir, d, CreateOptions{
		ID: "shop-1", Lead: person("lead-1", schema.Lead), Key: w.keys["lead-1"], Device: Device{Name: "bay-1", Bay: "1"}, Now: clock,
	})
	must(t, err)
	w.hire("tech-1", schema.FuelTechnician)
	w.hire("audit-1", schema.Auditor)
	return w
}

// hire has the lead put a person into the roster.
func (w *world) hire(id string, roles ...schema.Role) {
	w.t.Helper()
	p := person(id, roles...)
	p.Key = signature.KeyLine(w.keys[id].PublicKey())
	must(w.t, w.put("lead-1", schema.ShopRecord, "", p))
}

// entry makes the next entry of a record.
func (w *world) entry(by string, kind schema.RecordKind, id string, data schema.Data) schema.Entry {
	w.t.Helper()
	e, err := w.written(by, kind, id, moment, data)
	must(w.t, err)
	return e
}

// written is the next entry of a record as it stands, signed by its author.
func (w *world) written(by string, kind schema.RecordKind, id string, typed time.Time, data schema.Data) (schema.Entry, error) {
	seen, err := w.shop.Show(kind, id)
	if err != nil {
		return schema.Entry{}, err
	}
	all, err := w.shop.Write(seen, Fact{By: by, Key: w.keys[by], Entered: typed, Data: data})
	if err != nil {
		return schema.Entry{}, err
	}
	return all[0], nil
}

func (w *world) put(by string, kind schema.RecordKind, id string, data schema.Data) error {
	w.t.Helper()
	e, err := w.written(by, kind, id, moment, data)
	if err != nil {
		return err
	}
	_, err = w.shop.Put(context.Background(), kind, id, by, w.keys[by], e)
	return err
}

// vehicle puts a new car into the shop.
func (w *world) vehicle(id string) {
	w.t.Helper()
	must(w.t, w.put("tech-1", schema.VehicleRecord, id, schema.VehicleData{
		Name: id, Description: "invented", RoadUse: schema.Yes, EmissionControlled: schema.NotKnown, TankEverFuelled: schema.Yes,
	}))
}

// note appends a note to a car's draft and returns it.
func (w *world) note(id, text string) schema.Entry {
	w.t.Helper()
	e := w.entry("tech-1", schema.VehicleRecord, id, schema.NoteData{Text: text})
	must(w.t, w.shop.Append(id, e))
	return e
}

func (w *world) commit(id string) (CommitResult, error) { return w.commitBy("tech-1", id) }

func (w *world) commitBy(by, id string) (CommitResult, error) {
	return w.shop.Commit(context.Background(), CommitRequest{Vehicle: id, By: by, Key: w.keys[by], Now: clock})
}

// notes is the texts of the notes in a record.
func notes(t testing.TB, entries []schema.Entry) []string {
	t.Helper()
	var texts []string
	for _, e := range entries {
		if e.Kind != "note" {
			continue
		}
		data, err := schema.Into[schema.NoteData](e)
		must(t, err)
		texts = append(texts, data.Text)
	}
	return texts
}

// git runs the real git program on the shop's repository.
func (w *world) git(args ...string) string {
	w.t.Helper()
	return git(w.t, filepath.Join(w.dir, gitDir), args...)
}

func git(t testing.TB, repository string, args ...string) string {
	t.Helper()
	out, err := exec.Command("git", append([]string{"-C", repository}, args...)...).CombinedOutput()
	if err != nil {
		t.Fatalf("git %s: %v\n%s", strings.Join(args, " "), err, out)
	}
	return string(out)
}

// fsck has the real git check the repository: nothing broken, missing or odd. Objects that nothing points at are the rest of a writer
// that died, and no fault.
func fsck(t testing.TB, repository string) {
	t.Helper()
	for line := range strings.Lines(git(t, repository, "fsck", "--full", "--strict")) {
		if !strings.HasPrefix(line, "dangling ") {
			t.Fatalf("git fsck: %s", line)
		}
	}
}

func TestFromDraftToRecord(t *testing.T) {
	w := newShop(t)
	w.vehicle("car-1")
	first, second := w.note("car-1", "pump whines"), w.note("car-1", "hose is wet")
	if second.Counter != first.Counter+1 {
		t.Errorf("counters %d and %d do not follow each other", first.Counter, second.Counter)
	}
	done, err := w.commit("car-1")
	must(t, err)
	again, err := Open(w.dir)
	must(t, err)
	r, err := again.Record(schema.VehicleRecord, "car-1")
	must(t, err)
	if diff := cmp.Diff([]string{"pump whines", "hose is wet"}, notes(t, r.Entries)); diff != "" {
		t.Error(diff)
	}
	if string(done.Record.Encode()) != string(r.Encode()) {
		t.Error("the result of the commit is not what was committed")
	}
	if draft, err := again.Draft("car-1"); err != nil || len(draft) != 0 {
		t.Errorf("draft still holds %d entries, %v", len(draft), err)
	}
	if _, err := w.commit("car-1"); !errors.Is(err, ErrNothing) {
		t.Errorf("commit without entries: %v", err)
	}
	ids, err := again.IDs(schema.VehicleRecord)
	must(t, err)
	if diff := cmp.Diff([]string{"car-1"}, ids); diff != "" {
		t.Error(diff)
	}
	fsck(t, filepath.Join(w.dir, gitDir))
}
