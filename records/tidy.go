package records

import (
	"cmp"
	"context"
	"errors"
	"io/fs"
	"maps"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"feedproof/records/internal/gitfs"
	"feedproof/records/internal/packs"

	"github.com/go-git/go-git/v5/plumbing"
	"github.com/gofrs/flock"
)

// TidyReport is what Tidy did.
type TidyReport struct {
	Packed int   `json:"packed"` // objects that had files of their own
	Packs  int   `json:"packs"`  // packs there are now
	Before int64 `json:"before"` // bytes of objects
	After  int64 `json:"after"`
}

// Bounds of tidying.
const (
	tidyFrom  = 27      // files in one of 256 folders of objects, from which it is time: about 6,900 in all
	manyPacks = 40      // packs from which it is time
	packLoose = 1 << 20 // bytes of an object's file from which it stays one: a pack would not make it smaller
	packAnew  = 8 << 20 // bytes of packs up to which merging them packs their objects anew
	largePack = 1 << 30 // bytes of a pack from which it is not merged any more
)

// Untidy reports whether it is time for Tidy, by a look at one folder.
func (s *Shop) Untidy() bool {
	some, err := s.git.ReadDir("objects/17")
	names, packsErr := packs.Names(s.git)
	return err == nil && len(some) >= tidyFrom || packsErr == nil && len(names) >= manyPacks
}

// Tidy puts objects that have files of their own into packs, and merges small packs, so that a shop stays small and quick to open. An object
// is removed only when a pack that holds it is durable and has been read back. Readers and writers go on meanwhile, and the process may die
// at any moment: the next Tidy goes on where it was. No object is ever dropped. A second Tidy at once finds the shop busy (ErrBusy).
// Progress may be nil.
func (s *Shop) Tidy(ctx context.Context, progress func(done, total int)) (TidyReport, error) {
	alone := flock.New(filepath.Join(s.dir, gitDir, "feedproof.tidy"))
	got, err := alone.TryLock()
	if err != nil || !got {
		return TidyReport{}, errors.Join(err, &BusyError{What: gitDir, Hint: "it is being tidied"})
	}
	defer func() { _ = alone.Close() }()
	if err := s.sweep(ctx); err != nil {
		return TidyReport{}, err
	}
	t := tidying{Shop: s, ctx: ctx, progress: progress}
	err = errors.Join(t.run(), s.store.packs.Close())
	return t.report, err
}

// sweep removes what writers that died left half written. The lock keeps away those that are alive.
func (s *Shop) sweep(ctx context.Context) error {
	release, err := s.lock(ctx, gitDir)
	if err != nil {
		return err
	}
	defer release()
	if err := s.recover(); err != nil {
		return err
	}
	strays, err := packs.Strays(s.git)
	if err != nil {
		return err
	}
	top, err := s.git.ReadDir(".")
	if err != nil {
		return err
	}
	for _, f := range top {
		if strings.HasPrefix(f.Name(), gitfs.TempPrefix) {
			strays = append(strays, f.Name())
		}
	}
	for _, stray := range strays {
		if err := s.fresh.Remove(stray); err != nil && !errors.Is(err, fs.ErrNotExist) {
			return err
		}
	}
	return s.fresh.Sync()
}

// tidying is one run of Tidy.
type tidying struct {
	*Shop
	ctx         context.Context
	progress    func(done, total int)
	done, total int
	report      TidyReport
}

func (t *tidying) run() (err error) {
	loose, err := t.looseObjects()
	if err != nil {
		return err
	}
	if t.report.Before, _, err = t.measure(); err != nil {
		return err
	}
	loose = slices.DeleteFunc(loose, func(o looseObject) bool { return o.bytes >= packLoose })
	t.total = len(loose)
	rest, err := t.dropPacked(loose)
	if err != nil {
		return err
	}
	if err := t.pack(rest); err != nil {
		return err
	}
	if err := t.merge(); err != nil {
		return err
	}
	t.report.After, t.report.Packs, err = t.measure()
	return err
}

// measure is the bytes of all objects and the number of packs.
func (t *tidying) measure() (bytes int64, count int, err error) {
	loose, err := t.looseObjects()
	if err != nil {
		return 0, 0, err
	}
	for _, o := range loose {
		bytes += o.bytes
	}
	names, err := packs.Names(t.git)
	for _, name := range names {
		n, err := packs.Bytes(t.git, name)
		if err != nil {
			return 0, 0, err
		}
		bytes += n
	}
	return bytes, len(names), err
}

// dropPacked removes the files of objects that a pack holds too, as a run that was cut off leaves them, and returns the others.
func (t *tidying) dropPacked(loose []looseObject) ([]looseObject, error) {
	var rest []looseObject
	var packed []plumbing.Hash
	for _, o := range loose {
		there, err := t.store.packs.Has(o.hash)
		if err != nil {
			return nil, err
		}
		if there {
			packed = append(packed, o.hash)
		} else {
			rest = append(rest, o)
		}
	}
	if len(packed) == 0 {
		return rest, nil
	}
	if err := t.git.Renew(packs.Dir); err != nil { // the process that died may have put the pack there without syncing that
		return nil, err
	}
	return rest, t.drop(t.store.packs, packed)
}

// drop removes the files of objects that read well from packs.
func (t *tidying) drop(from *packs.Store, objects []plumbing.Hash) error {
	if err := from.Check(objects); err != nil {
		return err
	}
	for _, hash := range objects {
		if err := t.fresh.Remove(loosePath(hash)); err != nil && !errors.Is(err, fs.ErrNotExist) {
			return err
		}
	}
	if t.done += len(objects); t.progress != nil {
		t.progress(t.done, t.total)
	}
	return t.fresh.Sync()
}

// pack puts objects into packs, the versions of a record or a folder beside each other, in the order in which they were written.
func (t *tidying) pack(loose []looseObject) error {
	slices.SortStableFunc(loose, func(a, b looseObject) int { return a.when.Compare(b.when) })
	objects := make([]plumbing.Hash, len(loose))
	for i, o := range loose {
		objects[i] = o.hash
	}
	todo, err := batchesOfVersions(t.store, objects)
	if err != nil {
		return err
	}
	for _, b := range todo {
		if err := t.ctx.Err(); err != nil {
			return err
		}
		name, err := packs.Write(t.fresh, checked{t.store}, b.objects, b.window)
		if err != nil {
			return err
		}
		if err := t.fresh.Sync(); err != nil {
			return err
		}
		if err := t.dropFrom(name, b.objects); err != nil {
			return err
		}
		t.report.Packed += len(b.objects)
	}
	return nil
}

func (t *tidying) dropFrom(name string, objects []plumbing.Hash) error {
	one := packs.Only(t.git, name, streamed)
	return errors.Join(t.drop(one, objects), one.Close())
}

// merge makes one pack of the small ones, so that each that is left has at least twice the bytes of all smaller ones together: their number
// grows with the logarithm of the shop, and an object is copied that often.
func (t *tidying) merge() error {
	names, err := t.small()
	if err != nil || len(names) < 2 {
		return err
	}
	var take, old []string
	held := map[plumbing.Hash]bool{}
	for _, name := range names {
		objects, err := packs.Objects(t.git, name)
		if err != nil {
			return err
		}
		shared := 0
		for _, hash := range objects {
			if held[hash] {
				shared++
			}
		}
		switch shared {
		case 0:
			take = append(take, name)
			for _, hash := range objects {
				held[hash] = true
			}
		case len(objects): // merged before by a run that was cut off
			old = append(old, name)
		}
	}
	return t.replace(take, old, slices.Collect(maps.Keys(held)))
}

// replace puts the objects of some packs into new ones, reads those through, and removes the packs and those that held nothing else. Few bytes
// are packed anew, because versions of a record that lie in two packs stand whole in both; many are copied as they are.
func (t *tidying) replace(take, old []string, objects []plumbing.Hash) error {
	fresh := map[string][]plumbing.Hash{take[0]: objects}
	if len(take) > 1 {
		var err error
		if fresh, err = t.join(take, objects); err != nil {
			return err
		}
		old = append(old, take...)
	}
	if err := t.fresh.Sync(); err != nil {
		return err
	}
	for name, held := range fresh {
		one := packs.Only(t.git, name, streamed)
		if err := errors.Join(one.Check(held), one.Close()); err != nil {
			return err
		}
	}
	if err := t.store.packs.Close(); err != nil {
		return err
	}
	old = slices.DeleteFunc(old, func(name string) bool { return fresh[name] != nil })
	if err := packs.Remove(t.fresh, old...); err != nil {
		return err
	}
	return t.fresh.Sync()
}

// join writes the new packs, and says what is in each.
func (t *tidying) join(take []string, objects []plumbing.Hash) (map[string][]plumbing.Hash, error) {
	var size int64
	for _, name := range take {
		n, err := packs.Bytes(t.git, name)
		if err != nil {
			return nil, err
		}
		size += n
	}
	if size > packAnew {
		name, err := packs.Merge(t.fresh, take)
		return map[string][]plumbing.Hash{name: objects}, err
	}
	todo, err := batchesOfVersions(t.store, objects)
	if err != nil {
		return nil, err
	}
	fresh := map[string][]plumbing.Hash{}
	for _, b := range todo {
		name, err := packs.Write(t.fresh, checked{t.store}, b.objects, b.window)
		if err != nil {
			return nil, err
		}
		fresh[name] = b.objects
	}
	return fresh, nil
}

// small lists the packs to merge, the largest first.
func (t *tidying) small() ([]string, error) {
	names, err := packs.Names(t.git)
	if err != nil {
		return nil, err
	}
	sizes := map[string]int64{}
	for _, name := range names {
		kept, err := packs.Kept(t.git, name)
		if err != nil {
			return nil, err
		}
		size, err := packs.Bytes(t.git, name)
		if err != nil {
			return nil, err
		}
		if !kept && size < largePack {
			sizes[name] = size
		}
	}
	names = slices.SortedFunc(maps.Keys(sizes), func(a, b string) int { return cmp.Or(cmp.Compare(sizes[a], sizes[b]), cmp.Compare(a, b)) })
	var below int64
	few := 0
	for i, name := range names {
		if sizes[name] < 2*below {
			few = i + 1
		}
		below += sizes[name]
	}
	names = names[:few]
	slices.Reverse(names)
	return names, nil
}

// looseObject is an object with a file of its own.
type looseObject struct {
	hash  plumbing.Hash
	bytes int64 // of the file
	when  time.Time
}

// looseObjects lists the objects with files of their own.
func (s *Shop) looseObjects() ([]looseObject, error) {
	folders, err := s.git.ReadDir("objects")
	if err != nil {
		return nil, err
	}
	var all []looseObject
	for _, folder := range folders {
		if len(folder.Name()) != 2 {
			continue
		}
		files, err := s.git.ReadDir("objects/" + folder.Name())
		if err != nil {
			return nil, err
		}
		for _, f := range files {
			if name := folder.Name() + f.Name(); plumbing.IsHash(name) {
				all = append(all, looseObject{plumbing.NewHash(name), f.Size(), f.ModTime()})
			}
		}
	}
	return all, nil
}
