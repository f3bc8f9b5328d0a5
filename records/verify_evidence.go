package records

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"path"
	"slices"

	"feedproof/schema"

	"github.com/go-git/go-git/v5/plumbing"
)

// Missing is a file that an entry names and the shop does not hold. Its hash still proves which file was meant.
type Missing struct {
	Path   string `json:"path"` // of the record
	Entry  string `json:"entry"`
	SHA256 string `json:"sha256"`
}

// checkEvidence reads a kept file through and holds it to both its names, git's and that of its path.
func (v *verifier) checkEvidence(f *changed) error {
	in, err := openBlob(v.store, f.after.Hash)
	if err != nil {
		return err
	}
	defer in.Close()
	size, err := v.store.EncodedObjectSize(f.after.Hash)
	if err != nil {
		return err
	}
	sum, git := sha256.New(), plumbing.NewHasher(plumbing.BlobObject, size)
	if _, err := io.Copy(io.MultiWriter(sum, git), in); err != nil {
		return fmt.Errorf("object %s: %w", f.after.Hash, err)
	}
	if git.Sum() != f.after.Hash {
		return fmt.Errorf("object %s: has the wrong content: the disk or another program damaged it", f.after.Hash)
	}
	name := hex.EncodeToString(sum.Sum(nil))
	if f.path != evidencePath(name) {
		return errors.New("is evidence of other bytes than its name says")
	}
	v.kept[name] = true
	return nil
}

// namedBy finds the entry for whose sake a file of evidence is in a commit: the first of its new ones that names it. Empty when none does or
// the records cannot be read.
func (v *verifier) namedBy(files []*changed, evidence string) string {
	for _, f := range files {
		if path.Ext(f.path) != jsonExt || f.after.Hash.IsZero() {
			continue
		}
		after, err := v.record(f.path, f.after.Hash)
		if err != nil {
			continue
		}
		for _, e := range after.Entries {
			if slices.Contains(EvidenceOf(e), path.Base(evidence)) {
				return e.ID
			}
		}
	}
	return ""
}

// named notes the file that an entry rests on. The original of a photo is kept on request, so its absence is none.
func (v *verifier) named(p string, e schema.Entry) {
	if sums := EvidenceOf(e); len(sums) > 0 {
		v.names = append(v.names, Missing{p, e.ID, sums[0]})
	}
}

// missing is what was named and never came.
func (v *verifier) missing() []Missing {
	return slices.DeleteFunc(v.names, func(m Missing) bool { return v.kept[m.SHA256] })
}
