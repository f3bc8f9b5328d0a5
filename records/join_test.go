package records

import (
	"context"
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"testing"

	"feedproof/schema"
)

func TestAMachineJoins(t *testing.T) {
	t.Setenv("PATH", "")
	one, _, stick := bays(t)
	one.add("car-1", "pump whines")
	one.synced(stick)
	begins, err := Beginnings(context.Background(), stick, SyncOptions{})
	must(t, err)
	if begins != (Beginning{Fingerprint: one.shop.Device().Pinned, Person: "lead-1", Name: "Person lead-1"}) {
		t.Errorf("the shop begins with %+v", begins)
	}
	dir := filepath.Join(t.TempDir(), "shop")
	shop, report, err := Join(context.Background(), stick, dir, JoinOptions{Fingerprint: begins.Fingerprint, Device: Device{Name: "office", Who: "lead-1"}})
	must(t, err)
	if report.Came.Records != 2 {
		t.Errorf("the report says %+v", report)
	}
	if info, err := os.Stat(dir); err != nil || runtime.GOOS != "windows" && info.Mode().Perm() != 0o700 {
		t.Errorf("the folder is %v, %v: others may read it", info.Mode(), err)
	}
	three := &world{t: t, dir: dir, shop: shop, keys: one.keys}
	three.add("car-1", "hose is wet")
	three.synced(stick)
	one.synced(stick)
	if one.tree() != three.tree() || len(one.committed("car-1")) != 2 {
		t.Error("the two differ")
	}
	again, err := Open(dir)
	must(t, err)
	if again.Device().Pinned != begins.Fingerprint || again.Device().Name != "office" {
		t.Errorf("the device is %+v", again.Device())
	}
}

func TestJoiningRefusesAnotherKey(t *testing.T) {
	one, _, stick := bays(t)
	one.synced(stick)
	dir := filepath.Join(t.TempDir(), "shop")
	_, _, err := Join(context.Background(), stick, dir, JoinOptions{Fingerprint: "SHA256:other", Device: Device{Name: "office"}})
	var wrong *WrongKeyError
	if !errors.As(err, &wrong) || wrong.Begins.Fingerprint != one.shop.Device().Pinned {
		t.Errorf("join says %v", err)
	}
	if _, err := os.Stat(dir); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("something was made: %v", err)
	}
	own := t.TempDir()
	must(t, os.WriteFile(filepath.Join(own, "letter"), nil, 0o600))
	_, _, _ = Join(context.Background(), stick, own, JoinOptions{Fingerprint: "SHA256:other", Device: Device{Name: "office"}})
	if _, err := os.Stat(filepath.Join(own, "letter")); err != nil {
		t.Errorf("what lay there is gone: %v", err)
	}
}

func TestJoiningAnEmptyStick(t *testing.T) {
	_, _, err := Join(context.Background(), t.TempDir(), t.TempDir(), JoinOptions{Fingerprint: "SHA256:x"})
	var fault *RemoteError
	if !errors.As(err, &fault) || fault.Fix == "" {
		t.Errorf("join says %v", err)
	}
}

// A machine that joins a shop whose branch was poisoned takes what is right.
func TestJoiningTakesWhatIsRight(t *testing.T) {
	one, two, stick := bays(t)
	one.add("car-1", "pump whines")
	one.synced(stick)
	poison(t, two, stick)
	dir := filepath.Join(t.TempDir(), "shop")
	shop, report, err := Join(context.Background(), stick, dir, JoinOptions{Fingerprint: one.shop.Device().Pinned, Device: Device{Name: "office"}})
	must(t, err)
	if len(report.Aside) != 1 {
		t.Errorf("the report says %+v", report)
	}
	r, err := shop.Record(schema.VehicleRecord, "car-1")
	if err != nil || len(r.Entries) != 2 {
		t.Errorf("car-1 has %d entries, %v", len(r.Entries), err)
	}
	_, err = shop.Verify(context.Background(), nil)
	must(t, err)
}

// poison puts a commit by a stranger on top of a remote's branch, past every check.
func poison(t *testing.T, w *world, remote string) {
	t.Helper()
	w.synced(remote)
	head, err := w.shop.head()
	must(t, err)
	bad := w.rewrite("lead-1", newKey(t), schema.VehicleRecord, "car-1", func(r schema.Record) []byte {
		return r.With(w.entry("lead-1", schema.VehicleRecord, "car-1", schema.NoteData{Text: "all is well"})).Encode()
	})
	overwrite(t, w, remote, bad)
	must(t, w.shop.git.WriteFile(string(mainRef), []byte(head.String()+"\n"), 0o644))
}

// overwrite has git force a remote folder's branch, as somebody who can write there may.
func overwrite(t *testing.T, w *world, remote, commit string) {
	t.Helper()
	w.git("push", "-q", "--force", filepath.Join(remote, gitDir), commit+":"+string(mainRef))
}
