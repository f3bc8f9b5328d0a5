package records

import (
	"errors"
	"fmt"
	"path"
	"slices"
	"strings"
	"sync"

	"feedproof/records/signature"
	"feedproof/schema"

	"github.com/go-git/go-git/v5/plumbing"
	"github.com/go-git/go-git/v5/plumbing/filemode"
	"github.com/go-git/go-git/v5/plumbing/object"
	"github.com/go-git/go-git/v5/plumbing/storer"
)

// snapshot is the shop as one commit holds it.
type snapshot struct {
	store storer.EncodedObjectStorer
	root  plumbing.Hash // tree; zero for an empty one
	trees *trees        // nil when few are looked at
}

// trees are folders that were read, for those who look up many records.
type trees struct {
	alone sync.Mutex
	known map[plumbing.Hash]*object.Tree
}

// tree reads one folder, which is not to be changed.
func (n snapshot) tree(hash plumbing.Hash) (*object.Tree, error) {
	if n.trees == nil {
		return readTree(n.store, hash)
	}
	n.trees.alone.Lock()
	defer n.trees.alone.Unlock()
	if tree, read := n.trees.known[hash]; read {
		return tree, nil
	}
	tree, err := readTree(n.store, hash)
	if err == nil {
		n.trees.known[hash] = tree
	}
	return tree, err
}

// snapshot is the shop as it is committed, and the commit.
func (s *Shop) snapshot() (snapshot, plumbing.Hash, error) {
	head, err := s.head()
	if err != nil {
		return snapshot{}, head, err
	}
	snap, err := s.at(head)
	return snap, head, err
}

func (s *Shop) at(commit plumbing.Hash) (snapshot, error) {
	c, err := readCommit(s.store, commit)
	if err != nil {
		return snapshot{}, err
	}
	return snapshot{s.store, c.TreeHash, &trees{known: map[plumbing.Hash]*object.Tree{}}}, nil
}

// lookup finds what stands at a path; the zero entry when nothing does.
func (n snapshot) lookup(p string) (object.TreeEntry, error) {
	at := object.TreeEntry{Mode: filemode.Dir, Hash: n.root}
	for name := range strings.SplitSeq(p, "/") {
		tree, err := n.tree(at.Hash)
		if err != nil {
			return at, err
		}
		next, there := find(tree, name)
		if !there {
			return object.TreeEntry{}, nil
		}
		at = next
	}
	return at, nil
}

// find is where a record stands. A missing one is a *NotFoundError.
func (n snapshot) find(kind schema.RecordKind, id string) (p string, blob plumbing.Hash, err error) {
	if p, err = recordPath(kind, id); err != nil {
		return p, blob, err
	}
	entry, err := n.lookup(p)
	if err == nil && entry.Hash.IsZero() {
		err = &NotFoundError{Kind: kind, ID: id}
	}
	return p, entry.Hash, err
}

// record reads a record that the shop holds. A missing one is a *NotFoundError; a newer one comes back with a *schema.TooNewError.
func (n snapshot) record(kind schema.RecordKind, id string) (schema.Record, error) {
	p, blob, err := n.find(kind, id)
	if err != nil {
		return schema.Record{}, err
	}
	return n.readRecord(p, blob, schema.ReadCommitted)
}

// recordBlob reads a record from wherever it came, strictly.
func (n snapshot) recordBlob(p string, blob plumbing.Hash) (schema.Record, error) {
	return n.readRecord(p, blob, schema.DecodeRecord)
}

func (n snapshot) readRecord(p string, blob plumbing.Hash, decode func([]byte) (schema.Record, error)) (schema.Record, error) {
	content, err := readBlob(n.store, blob)
	if err != nil {
		return schema.Record{}, fmt.Errorf("%s: %w", p, err)
	}
	r, err := decode(content)
	if err != nil {
		return r, fmt.Errorf("%s: %w", p, err)
	}
	return r, nil
}

// anyRecordBlob is recordBlob for a record of any version, whose entries are carried along as they are.
func (n snapshot) anyRecordBlob(p string, blob plumbing.Hash) (schema.Record, error) {
	r, err := n.recordBlob(p, blob)
	if newer := (*schema.TooNewError)(nil); errors.As(err, &newer) {
		err = nil
	}
	return r, err
}

// ids lists the records of a kind, sorted.
func (n snapshot) ids(kind schema.RecordKind) ([]string, error) {
	if kind == schema.ShopRecord {
		r, err := n.record(kind, "")
		return []string{r.ID}, err
	}
	folder, known := folders[kind]
	if !known {
		return nil, fmt.Errorf("record kind %q: is unknown", kind)
	}
	entry, err := n.lookup(folder.name)
	if err != nil {
		return nil, err
	}
	ids, err := n.names(entry.Hash)
	slices.Sort(ids)
	return ids, err
}

// names lists the JSON files in a folder and its shards.
func (n snapshot) names(dir plumbing.Hash) ([]string, error) {
	tree, err := readTree(n.store, dir)
	if err != nil {
		return nil, err
	}
	var all []string
	for _, e := range tree.Entries {
		if e.Mode == filemode.Dir {
			below, err := n.names(e.Hash)
			if err != nil {
				return nil, err
			}
			all = append(all, below...)
		} else if path.Ext(e.Name) == jsonExt {
			all = append(all, strings.TrimSuffix(e.Name, jsonExt))
		}
	}
	return all, nil
}

// facts is what rules may know beside a vehicle's record. A gauge or part that cannot be read is unknown to them; each is read once, however
// many readings ask for it.
func (n snapshot) facts(read func(schema.RecordKind, string) (schema.Record, error)) (schema.Shop, error) {
	own, err := read(schema.ShopRecord, "")
	lookup := func(kind schema.RecordKind) func(string) (schema.Record, bool) {
		type found struct {
			record schema.Record
			there  bool
		}
		var alone sync.Mutex
		known := map[string]found{}
		return func(id string) (schema.Record, bool) {
			alone.Lock()
			defer alone.Unlock()
			f, asked := known[id]
			if !asked {
				r, err := read(kind, id)
				f = found{r, err == nil}
				known[id] = f
			}
			return f.record, f.there
		}
	}
	return schema.Shop{Record: own, Gauge: lookup(schema.GaugeRecord), Part: lookup(schema.PartRecord)}, err
}

func (n snapshot) roster() (signature.Roster, error) {
	own, err := n.record(schema.ShopRecord, "")
	if err != nil {
		return signature.Roster{}, err
	}
	return signature.NewRoster(own), nil
}

// Record is a record as it is committed, with its doubts. A missing one is a *NotFoundError; one of a newer version comes back with a *schema.TooNewError
// and is read-only. The shop's own record needs no id.
func (s *Shop) Record(kind schema.RecordKind, id string) (schema.Record, error) {
	v, err := s.View()
	if err != nil {
		return schema.Record{}, err
	}
	return v.Record(kind, id)
}

// IDs lists the records of a kind, sorted.
func (s *Shop) IDs(kind schema.RecordKind) ([]string, error) {
	snap, _, err := s.snapshot()
	if err != nil {
		return nil, err
	}
	return snap.ids(kind)
}

// Facts is what rules may know beside a vehicle's record: the shop's own, and any gauge or part by id, read when asked for. All are of
// one moment.
func (s *Shop) Facts() (schema.Shop, error) {
	v, err := s.View()
	if err != nil {
		return schema.Shop{}, err
	}
	return v.Facts()
}

// Roster is who is in the shop, as committed.
func (s *Shop) Roster() (signature.Roster, error) {
	snap, _, err := s.snapshot()
	if err != nil {
		return signature.Roster{}, err
	}
	return snap.roster()
}
