package records

import (
	"errors"
	"io"

	"github.com/go-git/go-git/v5/plumbing"
	"github.com/go-git/go-git/v5/plumbing/storer"
)

// packMemory is how many unpacked bytes are packed at once: all of them are in memory then.
const packMemory = 64 << 20

// deltaWindow is git's own: each object is compared with so many others. Records grow at the end, so that packs of them get small.
const deltaWindow = 10

// smallFile is the size in bytes up to which a file is packed with the records, whatever it is.
const smallFile = 16 << 10

// batch is objects for one pack.
type batch struct {
	objects []plumbing.Hash
	window  uint
}

// batches parts objects by what fits into memory, and tells those whose versions are alike, records, folders and commits, from evidence,
// where a difference would be as long as the whole and takes long to find. Their order is kept.
func batches(store storer.EncodedObjectStorer, objects []plumbing.Hash) ([]batch, error) {
	var all []batch
	alike, apart := gathering{window: deltaWindow}, gathering{}
	for _, hash := range objects {
		size, isEvidence, err := evidenceBlob(store, hash)
		if err != nil {
			return nil, err
		}
		to := &alike
		if isEvidence {
			to = &apart
		}
		if to.size+size > packMemory {
			all = to.flush(all)
		}
		to.objects, to.size = append(to.objects, hash), to.size+size
	}
	return apart.flush(alike.flush(all)), nil
}

// gathering is a batch that is not full yet.
type gathering struct {
	window  uint
	objects []plumbing.Hash
	size    int64
}

func (g *gathering) flush(to []batch) []batch {
	if len(g.objects) > 0 {
		to = append(to, batch{g.objects, g.window})
	}
	g.objects, g.size = nil, 0
	return to
}

// evidenceBlob reports how large an object is, and whether it is a file of some size that is no record: records begin with a brace.
func evidenceBlob(store storer.EncodedObjectStorer, hash plumbing.Hash) (size int64, is bool, err error) {
	o, err := store.EncodedObject(plumbing.AnyObject, hash)
	if err != nil {
		return 0, false, err
	}
	if o.Type() != plumbing.BlobObject || o.Size() < smallFile {
		return o.Size(), false, nil
	}
	in, err := o.Reader()
	if err != nil {
		return 0, false, err
	}
	first := make([]byte, 1)
	_, err = io.ReadFull(in, first)
	if errors.Is(err, io.EOF) {
		err = nil
	}
	return o.Size(), first[0] != '{', errors.Join(err, in.Close())
}
