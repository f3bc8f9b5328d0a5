package records

import (
	"errors"
	"fmt"
	"path"
	"slices"
	"strings"

	"feedproof/records/signature"
	"feedproof/schema"

	"github.com/go-git/go-git/v5/plumbing"
	"github.com/go-git/go-git/v5/plumbing/filemode"
)

// View is the shop as one commit holds it, for readers that keep what they made of a record by the hash of its bytes: what has one hash is
// the same for ever.
type View struct {
	snap   snapshot
	commit plumbing.Hash
	shop   *Shop
}

// Folder is a folder of records. Two of one hash hold the same records.
type Folder struct {
	Kind schema.RecordKind
	Path string
	Hash string
}

// File is a record in a folder. Two of one hash hold the same bytes.
type File struct {
	Kind schema.RecordKind
	ID   string
	Path string
	Hash string
}

// View is the shop as it is committed now.
func (s *Shop) View() (View, error) {
	snap, head, err := s.snapshot()
	return View{snap, head, s}, err
}

// Commit is the commit that the view shows.
func (v View) Commit() string { return v.commit.String() }

// Folders lists the folders that hold records of a kind, by path. The shop's own record stands in none.
func (v View) Folders(kind schema.RecordKind) ([]Folder, error) {
	f, known := folders[kind]
	if !known {
		return nil, fmt.Errorf("record kind %q: stands in no folder", kind)
	}
	top, err := v.snap.lookup(f.name)
	if err != nil || top.Hash.IsZero() {
		return nil, err
	}
	if !f.sharded {
		return []Folder{{kind, f.name, top.Hash.String()}}, nil
	}
	tree, err := readTree(v.snap.store, top.Hash)
	if err != nil {
		return nil, err
	}
	var all []Folder
	for _, e := range tree.Entries {
		if e.Mode == filemode.Dir {
			all = append(all, Folder{kind, path.Join(f.name, e.Name), e.Hash.String()})
		}
	}
	return all, nil
}

// Files lists the records of a folder, by id.
func (v View) Files(f Folder) ([]File, error) {
	tree, err := readTree(v.snap.store, plumbing.NewHash(f.Hash))
	if err != nil {
		return nil, fmt.Errorf("%s: %w", f.Path, err)
	}
	var all []File
	for _, e := range tree.Entries {
		if id, is := strings.CutSuffix(e.Name, jsonExt); is && e.Mode == filemode.Regular {
			all = append(all, File{f.Kind, id, path.Join(f.Path, e.Name), e.Hash.String()})
		}
	}
	slices.SortFunc(all, func(a, b File) int { return strings.Compare(a.ID, b.ID) })
	return all, nil
}

// File finds a record. A missing one is a *NotFoundError.
func (v View) File(kind schema.RecordKind, id string) (File, error) {
	p, blob, err := v.snap.find(kind, id)
	return File{kind, id, p, blob.String()}, err
}

// Read is a record's bytes as they are committed, checked against their hash.
func (v View) Read(f File) ([]byte, error) {
	content, err := readBlob(v.snap.store, plumbing.NewHash(f.Hash))
	if err != nil {
		return nil, fmt.Errorf("%s: %w", f.Path, err)
	}
	return content, nil
}

// Record is a record of the view with its doubts; see [Shop.Record].
func (v View) Record(kind schema.RecordKind, id string) (schema.Record, error) {
	r, err := v.snap.record(kind, id)
	if err != nil {
		return r, err
	}
	return v.doubted(r)
}

// Vehicle is a car's record and this machine's draft of it. The doubts are those of both.
func (v View) Vehicle(id string) (schema.Record, []schema.Entry, error) {
	r, err := v.snap.record(schema.VehicleRecord, id)
	if err != nil {
		return r, nil, err
	}
	draft, err := v.shop.Draft(id)
	if err != nil {
		return r, nil, err
	}
	whole, err := v.doubted(r.With(draft...))
	r.Doubts, r.Newer = whole.Doubts, whole.Newer
	return r, draft, err
}

// Signed is an entry as its author signed it, for whoever checks it with OpenSSH alone.
type Signed struct {
	Entry   schema.Entry
	Message []byte // what is signed
	Armored []byte // the signature as ssh-keygen -Y verify reads it
}

// Signed are the entries of a record, in order. One whose signature cannot be shown is an error that names it.
func (v View) Signed(kind schema.RecordKind, id string) ([]Signed, error) {
	r, err := v.snap.record(kind, id)
	if err != nil {
		return nil, err
	}
	first, err := v.shop.firstKey()
	if err != nil {
		return nil, err
	}
	hashes := schema.HashesOf(r.Of(first), r.Entries)
	var all []Signed
	for _, e := range r.Entries {
		key, err := v.signer(hashes, e)
		if err != nil {
			return nil, fmt.Errorf("entry %s: %w", e.ID, err)
		}
		message, err := hashes.Sign(e)
		if err != nil {
			return nil, err
		}
		armored, err := signature.ArmorEntry(e.Sig, key.Public)
		if err != nil {
			return nil, fmt.Errorf("entry %s: %w", e.ID, err)
		}
		all = append(all, Signed{e, message, armored})
	}
	return all, nil
}

// signer is the key that signed an entry: at the commit that its author had seen, or for the first of a shop by today's roster.
func (v View) signer(hashes schema.Hashes, e schema.Entry) (signature.Key, error) {
	if e.Head != "" {
		return v.shop.proofs.authored(hashes, e)
	}
	now, err := v.shop.proofs.rosterAt(v.commit)
	if err != nil {
		return signature.Key{}, err
	}
	key, err := authoredBy(now, hashes, e)
	if key.Public != nil {
		err = nil // revoked since
	}
	return key, err
}

// IDs lists the records of a kind, sorted.
func (v View) IDs(kind schema.RecordKind) ([]string, error) { return v.snap.ids(kind) }

// Facts is what rules may know beside a vehicle's record; see [Shop.Facts].
func (v View) Facts() (schema.Shop, error) { return v.snap.facts(v.Record) }

// Show is a record as whoever writes next has it in view, with this machine's draft. One that is not in the shop yet is empty.
func (v View) Show(kind schema.RecordKind, id string) (Shown, error) {
	r, err := v.snap.record(kind, id)
	if missing := (*NotFoundError)(nil); errors.As(err, &missing) {
		r, err = schema.NewRecord(kind, id), nil
	}
	n := Shown{r, v.Commit()}
	if err != nil || kind != schema.VehicleRecord {
		return n, err
	}
	draft, err := v.shop.Draft(id)
	return n.With(draft...), err
}

// ViewAt is the shop as a commit of its history holds it, which may be named by the first digits of its hash, and the whole hash. The commit
// must be among those that lead to the shop's last one.
func (s *Shop) ViewAt(commit string) (View, string, error) {
	head, err := s.head()
	if err != nil {
		return View{}, "", err
	}
	order, err := ancestry(s.store, head, everything)
	if err != nil {
		return View{}, "", err
	}
	var found []plumbing.Hash
	for _, h := range order {
		if strings.HasPrefix(h.String(), strings.ToLower(commit)) {
			found = append(found, h)
		}
	}
	if len(found) != 1 {
		return View{}, "", fmt.Errorf("commit %s: is the beginning of %d commits of this shop, not of one", commit, len(found))
	}
	snap, err := s.at(found[0])
	return View{snap, found[0], s}, found[0].String(), err
}
