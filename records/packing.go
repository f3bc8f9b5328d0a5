package records

import (
	"cmp"
	"slices"
	"strings"

	"feedproof/records/internal/packs"

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
	all, err := lookedAt(store, objects)
	return inBatches(all), err
}

// batchesOfVersions are batches in which the versions of a file stand together, whatever the order was.
func batchesOfVersions(store storer.EncodedObjectStorer, objects []plumbing.Hash) ([]batch, error) {
	all, err := lookedAt(store, objects)
	slices.SortStableFunc(all, func(a, b packable) int { return cmp.Compare(a.beginning, b.beginning) })
	return inBatches(all), err
}

// packable is an object to pack, as it looks.
type packable struct {
	hash      plumbing.Hash
	size      int64
	beginning string
}

func lookedAt(store storer.EncodedObjectStorer, objects []plumbing.Hash) ([]packable, error) {
	var all []packable
	for _, hash := range objects {
		o, err := store.EncodedObject(plumbing.AnyObject, hash)
		if err != nil {
			return nil, err
		}
		beginning, err := packs.Beginning(o)
		if err != nil {
			return nil, err
		}
		all = append(all, packable{hash, o.Size(), beginning})
	}
	return all, nil
}

// isEvidence reports a file of some size that is no record: records begin with a brace.
func (p packable) isEvidence() bool {
	content, isFile := strings.CutPrefix(p.beginning, plumbing.BlobObject.String()+" ")
	return isFile && p.size >= smallFile && !strings.HasPrefix(content, "{")
}

func inBatches(objects []packable) []batch {
	var all []batch
	alike, apart := gathering{window: deltaWindow}, gathering{}
	for _, p := range objects {
		to := &alike
		if p.isEvidence() {
			to = &apart
		}
		if to.size+p.size > packMemory {
			all = to.flush(all)
		}
		to.objects, to.size = append(to.objects, p.hash), to.size+p.size
	}
	return apart.flush(alike.flush(all))
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
