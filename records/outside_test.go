package records

import (
	"bytes"
	"encoding/json"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"feedproof/records/signature"
	"feedproof/schema"

	"pgregory.net/rapid"
)

// A Python program that shares nothing with ours says who saw what in a shop of three bays that were apart and met again, from the fields that
// an export has, and agrees pair by pair.
func TestSawFromOutside(t *testing.T) {
	t.Parallel()
	start := newBase(t)
	rapid.Check(t, func(rt *rapid.T) {
		machines := []*world{start.copy(), start.copy(), start.copy()}
		for i, w := range machines {
			w.shop.device.Name = fmt.Sprintf("bay-%d", i+1)
		}
		for n := range rapid.IntRange(4, 20).Draw(rt, "turns") {
			w := rapid.SampledFrom(machines).Draw(rt, "bay")
			if other := rapid.SampledFrom(machines).Draw(rt, "meets"); other != w && rapid.IntRange(0, 2).Draw(rt, "how") == 0 {
				_, err := w.merge(other)
				must(t, err)
				continue
			}
			w.add("car-1", fmt.Sprint("note ", n))
		}
		for _, other := range machines[1:] {
			_, err := machines[0].merge(other)
			must(t, err)
		}
		r, err := machines[0].shop.Record(schema.VehicleRecord, "car-1")
		must(t, err)
		if got, want := pairs(r), outsidePairs(t, r); got != want {
			rt.Fatalf("ours\n%s\ntheirs\n%s", got, want)
		}
		if len(r.Doubts) > 0 {
			rt.Fatalf("doubts %v", r.Doubts)
		}
	})
}

// pairs are those of which the later saw the earlier, and with a tilde those that are concurrent.
func pairs(r schema.Record) string {
	sight := schema.NewSight(r.Entries)
	var all []string
	for _, one := range r.Entries {
		for _, other := range r.Entries {
			switch {
			case sight.Saw(one.ID, other.ID):
				all = append(all, fmt.Sprintln(r.ID, one.ID, other.ID))
			case one.ID < other.ID && !sight.Saw(other.ID, one.ID):
				all = append(all, fmt.Sprintln(r.ID, one.ID, "~", other.ID))
			}
		}
	}
	slices.Sort(all)
	return strings.Join(all, "")
}

func outsidePairs(t *testing.T, r schema.Record) string {
	t.Helper()
	var lines bytes.Buffer
	for _, e := range r.Entries {
		text, err := json.Marshal(map[string]any{"record_kind": r.Kind, "record": r.ID, "entry": e.ID, "counter": e.Counter, "after": e.After})
		must(t, err)
		lines.Write(append(text, '\n'))
	}
	cmd := exec.Command("python3", "../testdata/outside/saw.py")
	cmd.Stdin = &lines
	out, err := cmd.CombinedOutput()
	if err != nil {
		t.Fatalf("saw.py: %v\n%s", err, out)
	}
	all := strings.SplitAfter(string(out), "\n")
	slices.Sort(all)
	return strings.Join(all, "")
}

// Each entry as it was signed, for OpenSSH alone: each is accepted, and none once anything of it was changed.
func TestOpenSSHAcceptsEveryEntry(t *testing.T) {
	w := newShop(t)
	w.vehicle("car-1")
	w.add("car-1", "pump whines")
	must(t, w.put("lead-1", schema.VehicleRecord, "car-1", schema.NoteData{Text: "seen"}))
	roster, err := w.shop.Roster()
	must(t, err)
	view, err := w.shop.View()
	must(t, err)
	dir := t.TempDir()
	must(t, os.WriteFile(filepath.Join(dir, "allowed"), []byte(roster.AllowedSigners()), 0o600))
	accepts := func(by string, message, armored []byte) bool {
		must(t, os.WriteFile(filepath.Join(dir, "sig"), armored, 0o600))
		cmd := exec.Command("ssh-keygen", "-Y", "verify", "-f", filepath.Join(dir, "allowed"), "-I", by, "-n", string(signature.Entry), "-s", filepath.Join(dir, "sig"))
		cmd.Stdin = bytes.NewReader(message)
		return cmd.Run() == nil
	}
	for kind, id := range map[schema.RecordKind]string{schema.VehicleRecord: "car-1", schema.ShopRecord: ""} {
		all, err := view.Signed(kind, id)
		if kind == schema.ShopRecord && err != nil {
			t.Errorf("the shop's own: %v", err)
		}
		if len(all) < 3 {
			t.Errorf("%s: %d entries, %v", kind, len(all), err)
		}
		for i, e := range all {
			if !accepts(e.Entry.By, e.Message, e.Armored) {
				t.Errorf("%s: ssh-keygen refuses entry %s", kind, e.Entry.ID)
			}
			other := all[(i+1)%len(all)]
			for name, wrong := range map[string]bool{
				"another author":    accepts("audit-1", e.Message, e.Armored),
				"another signature": accepts(e.Entry.By, e.Message, other.Armored),
				"another message":   accepts(e.Entry.By, other.Message, e.Armored),
				"a changed word":    accepts(e.Entry.By, bytes.Replace(e.Message, []byte(`"kind":"`), []byte(`"kind":"x`), 1), e.Armored),
				"another record":    accepts(e.Entry.By, bytes.Replace(e.Message, []byte("\n"+string(kind)+"\n"), []byte("\npart\n"), 1), e.Armored),
				"nothing":           accepts(e.Entry.By, nil, e.Armored),
			} {
				if wrong {
					t.Errorf("%s: ssh-keygen takes entry %s with %s", kind, e.Entry.ID, name)
				}
			}
		}
	}
}
