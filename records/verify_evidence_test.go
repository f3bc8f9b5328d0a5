package records

import (
	"bytes"
	"context"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"feedproof/schema"

	"github.com/go-git/go-git/v5/plumbing"
	"github.com/google/go-cmp/cmp"
)

func TestVerifyCountsEvidenceAndSaysWhatIsMissing(t *testing.T) {
	w := newShop(t)
	w.vehicle("car-1")
	content, sum := file(1000, 1)
	w.attach("car-1", content)
	_, gone := file(1000, 2)
	never := w.entry("tech-1", schema.VehicleRecord, "car-1", schema.EvidenceData{SHA256: gone, Bytes: 1000, Type: "image/jpeg", What: "lost with a phone"})
	must(t, w.shop.Append("car-1", never))
	_, original := file(1000, 3)
	copied := schema.EvidenceData{SHA256: sum, Original: original, Bytes: 1000, Type: "image/jpeg", What: "its original stays on the phone"}
	must(t, w.shop.Append("car-1", w.entry("tech-1", schema.VehicleRecord, "car-1", copied)))
	_, err := w.commit("car-1")
	must(t, err)
	report, err := w.shop.Verify(context.Background(), nil)
	must(t, err)
	p, err := recordPath(schema.VehicleRecord, "car-1")
	must(t, err)
	if diff := cmp.Diff([]Missing{{p, never.ID, gone}}, report.Missing); diff != "" || report.Evidence != 1 {
		t.Errorf("%d files of evidence; missing (-want +got):\n%s", report.Evidence, diff)
	}
}

// Evidence whose bytes were changed in git is found, with the commit, who signed it and the entry that rests on it.
func TestVerifyFindsForgedEvidence(t *testing.T) {
	w := newShop(t)
	w.vehicle("car-1")
	content, sum := file(1000, 1)
	e := w.entry("tech-1", schema.VehicleRecord, "car-1", schema.EvidenceData{SHA256: sum, Bytes: 1000, Type: "image/jpeg", What: "the clip"})
	other := bytes.Clone(content)
	other[0]++
	for _, attack := range []struct {
		name, path, entry string
		content           []byte
	}{
		{"with its entry", evidencePath(sum), e.ID, other},
		{"at another path", evidenceDir + "/ff/" + sum, e.ID, content},
		{"without a name", evidenceDir + "/photo.jpg", "", content},
	} {
		t.Run(attack.name, func(t *testing.T) {
			head, err := w.shop.head()
			must(t, err)
			bad := w.forge("tech-1", w.keys["tech-1"], func(root plumbing.Hash) plumbing.Hash {
				r, err := w.shop.Record(schema.VehicleRecord, "car-1")
				must(t, err)
				p, err := recordPath(schema.VehicleRecord, "car-1")
				must(t, err)
				root, err = w.shop.writeText(root, p, r.With(e).Encode())
				must(t, err)
				root, err = w.shop.writeText(root, attack.path, attack.content)
				must(t, err)
				return root
			})
			_, err = w.shop.Verify(context.Background(), nil)
			var fault *VerifyError
			if !errors.As(err, &fault) || fault.Commit != bad || fault.Person != "tech-1" || fault.Path != attack.path || fault.Entry != attack.entry {
				t.Errorf("says %+v, want commit %s, person tech-1, entry %s", fault, bad, attack.entry)
			}
			must(t, w.shop.git.WriteFile(string(mainRef), []byte(head.String()+"\n"), 0o644))
		})
	}
}

// A committed file whose object is damaged on this disk is found too.
func TestVerifyFindsDamagedEvidence(t *testing.T) {
	w := newShop(t)
	w.vehicle("car-1")
	content, sum := file(3<<20, 1)
	w.attach("car-1", content)
	done, err := w.commit("car-1")
	must(t, err)
	blob := strings.TrimSpace(w.git("rev-parse", "main:"+evidencePath(sum)))
	object := filepath.Join(w.dir, gitDir, "objects", blob[:2], blob[2:])
	packed, err := os.ReadFile(object)
	must(t, err)
	packed[len(packed)/2] ^= 0x10
	must(t, os.Chmod(object, 0o644))
	must(t, os.WriteFile(object, packed, 0o644))
	shop, err := Open(w.dir)
	must(t, err)
	_, err = shop.Verify(context.Background(), nil)
	var fault *VerifyError
	if !errors.As(err, &fault) || fault.Commit != done.Commit || fault.Entry == "" {
		t.Errorf("says %v, want commit %s and an entry", err, done.Commit)
	}
}
