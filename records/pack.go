package records

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"path"
	"slices"

	"feedproof/records/internal/gitfs"
	"feedproof/records/internal/packs"

	"github.com/go-git/go-git/v5/plumbing"
	"github.com/go-git/go-git/v5/plumbing/object"
	"github.com/go-git/go-git/v5/plumbing/storer"
)

const packDir = "objects/pack"

// fewObjects is up to how many are written one file each. More go into a pack: a stick takes 32 KB for the smallest file.
const fewObjects = 8

// packBatch is how many objects go into one pack. A transfer that was cut off goes on after the last whole one.
const packBatch = 20_000

// send copies objects into a repository, durably. Those that are there already are not copied again.
func send(ctx context.Context, to *Shop, from storer.EncodedObjectStorer, objects []plumbing.Hash, progress func(done, total int)) error {
	done := 0
	for batch := range slices.Chunk(objects, packBatch) {
		if err := ctx.Err(); err != nil {
			return err
		}
		if err := sendBatch(to, from, batch); err != nil {
			return err
		}
		if done += len(batch); progress != nil {
			progress(done, len(objects))
		}
	}
	if err := to.fresh.Sync(); err != nil {
		return err
	}
	to.store.Reindex()
	return nil
}

func sendBatch(to *Shop, from storer.EncodedObjectStorer, objects []plumbing.Hash) error {
	if len(objects) <= fewObjects {
		return sendLoose(to.store, from, objects)
	}
	var fresh []plumbing.Hash
	for _, hash := range objects {
		there, err := to.keeps(hash)
		if err != nil {
			return err
		}
		if !there {
			fresh = append(fresh, hash)
		}
	}
	if len(fresh) == 0 {
		return nil
	}
	todo, err := batches(from, fresh)
	if err != nil {
		return err
	}
	for _, b := range todo {
		if _, err := packs.Write(to.fresh, checked{from}, b.objects, b.window); err != nil {
			return err
		}
	}
	return nil
}

// keeps reports whether an object is there. Its writer may have died before its name was durable: it is at the next Sync.
func (s *Shop) keeps(hash plumbing.Hash) (bool, error) {
	if s.store.HasEncodedObject(hash) != nil {
		return false, nil
	}
	name := hash.String()
	if _, err := s.git.Stat(path.Join("objects", name[:2], name[2:])); err == nil {
		return true, s.fresh.Renew("objects", path.Join("objects", name[:2]))
	}
	return true, s.fresh.Renew(packDir)
}

func sendLoose(to storer.EncodedObjectStorer, from storer.EncodedObjectStorer, objects []plumbing.Hash) error {
	for _, hash := range objects {
		o, err := checked{from}.EncodedObject(plumbing.AnyObject, hash)
		if err != nil {
			return err
		}
		if _, err := to.SetEncodedObject(o); err != nil {
			return err
		}
	}
	return nil
}

func removeStray(at gitfs.FS, name string) error {
	if err := at.Remove(name); err != nil && !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	return nil
}

// checked is a store whose objects are what their names say, or are not handed out.
type checked struct{ storer.EncodedObjectStorer }

// EncodedObject reads one object and checks it.
func (c checked) EncodedObject(kind plumbing.ObjectType, hash plumbing.Hash) (plumbing.EncodedObject, error) {
	o, err := c.EncodedObjectStorer.EncodedObject(kind, hash)
	if err != nil {
		return nil, fmt.Errorf("object %s: %w", hash, err)
	}
	return readObject(c.EncodedObjectStorer, o.Type(), hash)
}

// addedObjects lists what commits add to their parents: each commit, and the folders and files that no parent has in their place. Files come
// before the folders that name them, folders before commits, so that what was copied up to any moment is whole.
func addedObjects(store storer.EncodedObjectStorer, commits []plumbing.Hash) ([]plumbing.Hash, error) {
	var all []plumbing.Hash
	seen := map[plumbing.Hash]bool{}
	add := func(h plumbing.Hash) {
		if !seen[h] {
			seen[h] = true
			all = append(all, h)
		}
	}
	for _, hash := range commits {
		c, err := readCommit(store, hash)
		if err != nil {
			return nil, err
		}
		var parents []plumbing.Hash
		for _, p := range c.ParentHashes {
			parent, err := readCommit(store, p)
			if err != nil {
				return nil, err
			}
			parents = append(parents, parent.TreeHash)
		}
		if err := addedTrees(store, 0, c.TreeHash, parents, add); err != nil {
			return nil, err
		}
		add(hash)
	}
	return all, nil
}

// addedTrees lists what a folder has and none of the others in the same place does.
func addedTrees(store storer.EncodedObjectStorer, depth int, tree plumbing.Hash, others []plumbing.Hash, add func(plumbing.Hash)) error {
	if slices.Contains(others, tree) {
		return nil
	}
	if depth > maxFolders {
		return fmt.Errorf("folder %s: is nested too deep", tree)
	}
	fresh, err := readTree(store, tree)
	if err != nil {
		return err
	}
	old := make([]map[string]object.TreeEntry, len(others))
	for i, other := range others {
		t, err := readTree(store, other)
		if err != nil {
			return err
		}
		old[i] = make(map[string]object.TreeEntry, len(t.Entries))
		for _, e := range t.Entries {
			old[i][e.Name] = e
		}
	}
	for _, e := range fresh.Entries {
		var below []plumbing.Hash
		known := false
		for _, o := range old {
			was, there := o[e.Name]
			known = known || there && was.Hash == e.Hash
			if there && folder(was) && folder(e) {
				below = append(below, was.Hash)
			}
		}
		switch {
		case known:
		case folder(e):
			if err := addedTrees(store, depth+1, e.Hash, below, add); err != nil {
				return err
			}
		default:
			add(e.Hash)
		}
	}
	add(tree)
	return nil
}
