// Package packs reads the packs of a git repository without reading their indexes whole, so that the first object costs the same in a small
// repository and in a large one.
//
// Start with New and Get. A pack that another process put in or merged away is noticed when an object is not found. Writing, and objects
// in files of their own, are deliberately absent. Formats: git's gitformat-pack(5), index version 2.
package packs

import (
	"errors"
	"fmt"
	"io/fs"
	"path"
	"slices"
	"strings"
	"sync"

	"feedproof/records/internal/gitfs"

	"github.com/go-git/go-git/v5/plumbing"
)

// Dir is where packs stand in a repository.
const Dir = "objects/pack"

// Store is the packs of a repository. It is safe for use by several goroutines.
type Store struct {
	git      gitfs.FS
	streamed int64 // bytes from which an object is read as it is asked for

	mu     sync.Mutex
	listed bool
	packs  []*pack
}

// New is the packs of a repository. Objects larger than streamed bytes are not read into memory whole, unless they are kept as differences.
func New(git gitfs.FS, streamed int64) *Store { return &Store{git: git, streamed: streamed} }

// Get reads an object. One that no pack holds is plumbing.ErrObjectNotFound.
func (s *Store) Get(hash plumbing.Hash) (plumbing.EncodedObject, error) {
	var found plumbing.EncodedObject
	err := s.in(hash, func(p *pack, offset int64) (err error) {
		found, err = p.object(offset, hash, s.streamed)
		return err
	})
	return found, err
}

// Size is the size of an object.
func (s *Store) Size(hash plumbing.Hash) (int64, error) {
	var size int64
	err := s.in(hash, func(p *pack, offset int64) (err error) {
		size, err = p.size(offset)
		return err
	})
	return size, err
}

// Has reports whether a pack holds an object.
func (s *Store) Has(hash plumbing.Hash) (bool, error) {
	err := s.in(hash, func(*pack, int64) error { return nil })
	if errors.Is(err, plumbing.ErrObjectNotFound) {
		return false, nil
	}
	return err == nil, err
}

// in calls visit with where an object stands, and looks at the folder again when it stands nowhere or its pack is gone.
func (s *Store) in(hash plumbing.Hash, visit func(p *pack, offset int64) error) error {
	for _, again := range []bool{false, true} {
		list, changed, err := s.list(again)
		if err != nil {
			return err
		}
		if again && !changed {
			break
		}
		err = visitIn(list, hash, visit)
		if !errors.Is(err, plumbing.ErrObjectNotFound) && !errors.Is(err, fs.ErrNotExist) {
			return err
		}
	}
	return plumbing.ErrObjectNotFound
}

func visitIn(list []*pack, hash plumbing.Hash, visit func(p *pack, offset int64) error) error {
	for _, p := range list {
		offset, there, err := p.find(hash)
		if err != nil {
			return err
		}
		if there {
			return visit(p, offset)
		}
	}
	return plumbing.ErrObjectNotFound
}

// list is the packs, and whether they changed since the last time. Those that are still there are kept open.
func (s *Store) list(again bool) (packs []*pack, changed bool, err error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.listed && !again {
		return s.packs, false, nil
	}
	names, err := Names(s.git)
	if err != nil {
		return nil, false, err
	}
	known := map[string]*pack{}
	for _, p := range s.packs {
		known[p.name] = p
	}
	changed = !s.listed || len(names) != len(s.packs)
	fresh := make([]*pack, 0, len(names))
	for _, name := range names {
		p, is := known[name]
		if !is {
			p, changed = newPack(s.git, name), true
		}
		fresh = append(fresh, p)
	}
	s.packs, s.listed = fresh, true
	return fresh, changed, nil
}

// list reads the folder of the packs; one that is not made yet is empty.
func list(git gitfs.FS) ([]fs.FileInfo, map[string]bool, error) {
	files, err := git.ReadDir(Dir)
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return nil, nil, err
	}
	there := map[string]bool{}
	for _, f := range files {
		there[f.Name()] = true
	}
	return files, there, nil
}

// Names lists the packs that are whole, without their ending: those with an index.
func Names(git gitfs.FS) ([]string, error) {
	files, there, err := list(git)
	if err != nil {
		return nil, err
	}
	var names []string
	for _, f := range files {
		if name, is := strings.CutSuffix(f.Name(), ".pack"); is && strings.HasPrefix(name, "pack-") && there[name+".idx"] {
			names = append(names, name)
		}
	}
	slices.Sort(names)
	return names, nil
}

func file(name, ending string) string { return path.Join(Dir, name+ending) }

// damaged says what is wrong with a pack.
func damaged(name, format string, args ...any) error {
	return fmt.Errorf("%s: %s", name, fmt.Sprintf(format, args...))
}
