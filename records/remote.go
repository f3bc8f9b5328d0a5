package records

import (
	"context"
	"fmt"
	"path"
	"strings"

	"feedproof/records/internal/gitfs"

	"github.com/go-git/go-git/v5/plumbing"
	"github.com/go-git/go-git/v5/plumbing/storer"
)

// refs is where the references of a repository stand.
type refs map[plumbing.ReferenceName]plumbing.Hash

// move is a reference to be moved if it still is at Old; a zero Old is for a new one.
type move struct {
	ref      plumbing.ReferenceName
	old, new plumbing.Hash
}

// remote is a repository elsewhere with which the shop exchanges commits.
type remote interface {
	// refs lists its references. One that is empty or not made yet has none.
	refs(ctx context.Context) (refs, error)
	// fetch makes what leads to want readable, but for what leads to have. It changes nothing in the shop.
	fetch(ctx context.Context, want, have []plumbing.Hash) (storer.EncodedObjectStorer, error)
	// push sends objects and then moves references. errMoved says that somebody else moved one meanwhile.
	push(ctx context.Context, from storer.EncodedObjectStorer, objects []plumbing.Hash, moves []move, progress func(done, total int)) error
	close() error
}

// readRefs lists the references in a repository's folder. Those that a writer is about to write are not there yet.
func readRefs(git gitfs.FS) (refs, error) {
	all := refs{}
	packed, err := git.ReadFile("packed-refs")
	if err != nil && !missing(err) {
		return nil, err
	}
	for line := range strings.Lines(string(packed)) {
		hash, name, _ := strings.Cut(strings.TrimSpace(line), " ")
		if plumbing.IsHash(hash) {
			all[plumbing.ReferenceName(name)] = plumbing.NewHash(hash)
		}
	}
	return all, readLooseRefs(git, "refs", all)
}

func readLooseRefs(git gitfs.FS, dir string, all refs) error {
	files, err := git.ReadDir(dir)
	if missing(err) {
		return nil
	}
	if err != nil {
		return err
	}
	for _, f := range files {
		name := path.Join(dir, f.Name())
		if f.IsDir() {
			if err := readLooseRefs(git, name, all); err != nil {
				return err
			}
			continue
		}
		if strings.HasSuffix(name, ".lock") || !f.Mode().IsRegular() {
			continue
		}
		raw, err := git.ReadFile(name)
		if missing(err) {
			continue
		}
		if err != nil {
			return err
		}
		text := strings.TrimSpace(string(raw))
		if !plumbing.IsHash(text) {
			return &BrokenRefError{Ref: path.Join(git.Root(), name)}
		}
		all[plumbing.ReferenceName(name)] = plumbing.NewHash(text)
	}
	return nil
}

// moveRef moves a reference other than the branch, by git's own lock file. The caller holds the lock of the repository, so that a lock file
// that is there is a dead process's.
func moveRef(git gitfs.FS, m move) error {
	all, err := readRefs(git)
	if err != nil {
		return err
	}
	if all[m.ref] != m.old {
		return errMoved
	}
	lock := string(m.ref) + ".lock"
	if err := removeStray(git, lock); err != nil {
		return err
	}
	if err := git.WriteNew(lock, []byte(m.new.String()+"\n"), 0o644); err != nil {
		return err
	}
	return git.Rename(lock, string(m.ref))
}

// RemoteError says what is wrong with a remote.
type RemoteError struct {
	Remote string
	Reason error
	Fix    string
}

func (e *RemoteError) Error() string { return fmt.Sprintf("%s: %v", e.Remote, e.Reason) }

func (e *RemoteError) Unwrap() error { return e.Reason }

// IsFolder tells a remote that is a folder from one on a server: ssh://, https:// and http:// addresses, and host:path as OpenSSH's scp
// takes it. A single letter before the colon is a drive.
func IsFolder(remote string) bool {
	scheme, _, isURL := strings.Cut(remote, "://")
	if isURL {
		return scheme == "file"
	}
	host, _, colon := strings.Cut(remote, ":")
	return !colon || len(host) == 1 || strings.ContainsAny(host, `/\`)
}
