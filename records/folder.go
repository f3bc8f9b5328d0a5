package records

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"net/url"
	"os"
	"path"
	"path/filepath"
	"runtime"
	"strings"

	"feedproof/records/internal/gitfs"

	"github.com/go-git/go-git/v5/plumbing"
	"github.com/go-git/go-git/v5/plumbing/storer"
)

// scannedFile lists the packs of remotes that were scanned. It may be deleted at any time.
const scannedFile = "cache/scanned-packs"

// folderRemote is a remote that is a folder: on this disk, on a stick, on a share. No git program is needed.
type folderRemote struct {
	name string
	repo *Shop // its repository; the rest of a shop may be around it or not
	base string
	own  storer.EncodedObjectStorer
	scan func(git gitfs.FS) error // refuses packs that would burst
}

func missing(err error) bool { return errors.Is(err, fs.ErrNotExist) }

// folderPath is the path of a remote that is a folder.
func folderPath(name string) string {
	if rest, ok := strings.CutPrefix(name, "file://"); ok {
		if u, err := url.PathUnescape(rest); err == nil {
			rest = u
		}
		if runtime.GOOS == "windows" {
			rest = strings.TrimPrefix(rest, "/")
		}
		return filepath.FromSlash(rest)
	}
	return name
}

// openFolder finds the repository of a folder: the folder itself, or shop.git in it.
func (s *Shop) openFolder(name string) (*folderRemote, error) {
	dir, err := filepath.Abs(folderPath(name))
	if err != nil {
		return nil, err
	}
	refuse := func(fix, format string, args ...any) error {
		return &RemoteError{Remote: name, Reason: fmt.Errorf(format, args...), Fix: fix}
	}
	at, base := filepath.Dir(dir), filepath.Base(dir)
	switch {
	case isRepository(dir):
	case isRepository(filepath.Join(dir, ".git")):
		return nil, refuse("make a bare one: git clone --bare "+name+" "+name+".git", "is a work tree, where a push would disturb somebody's files")
	case strings.HasSuffix(base, ".git"):
	default:
		at, base = dir, gitDir
	}
	if info, err := os.Stat(at); err != nil || !info.IsDir() {
		return nil, refuse("plug in the stick, or make the folder: mkdir "+at, "there is no folder %s", at)
	}
	if same(filepath.Join(at, base), filepath.Join(s.dir, gitDir)) {
		return nil, refuse("name another folder", "is this shop itself")
	}
	repo, err := attachTo(at, gitfs.New(gitfs.Folder(at)), base)
	if err != nil {
		return nil, err
	}
	return &folderRemote{name: name, repo: repo, base: base, own: s.store, scan: s.scanPacks}, nil
}

// scanPacks reads each pack of another repository once, before anything in it is unpacked, and remembers that it did.
func (s *Shop) scanPacks(git gitfs.FS) error {
	files, err := git.ReadDir(packDir)
	if missing(err) {
		return nil
	}
	if err != nil {
		return err
	}
	known, err := s.disk.ReadFile(scannedFile)
	if err != nil && !missing(err) {
		return err
	}
	lines := string(known)
	for _, f := range files {
		if path.Ext(f.Name()) != ".pack" {
			continue
		}
		line := fmt.Sprintf("%s %d %d\n", f.Name(), f.Size(), f.ModTime().UnixNano())
		if strings.Contains(lines, line) {
			continue
		}
		in, err := git.Open(path.Join(packDir, f.Name()))
		if missing(err) {
			continue
		}
		if err != nil {
			return err
		}
		err = scanPack(in, f.Size())
		if closed := in.Close(); err == nil {
			err = closed
		}
		if err != nil {
			return fmt.Errorf("%s: %w", f.Name(), err)
		}
		lines += line
	}
	if lines == string(known) {
		return nil
	}
	return s.disk.WriteFile(scannedFile, []byte(lines), 0o644)
}

func isRepository(dir string) bool {
	for _, part := range []string{"HEAD", "objects"} {
		if _, err := os.Stat(filepath.Join(dir, part)); err != nil {
			return false
		}
	}
	return true
}

// hasRepository is isRepository for what is attached.
func (s *Shop) hasRepository() bool {
	for _, part := range []string{"HEAD", "objects"} {
		if _, err := s.git.Stat(part); err != nil {
			return false
		}
	}
	return true
}

func same(a, b string) bool {
	x, err := os.Stat(a)
	if err != nil {
		return false
	}
	y, err := os.Stat(b)
	return err == nil && os.SameFile(x, y)
}

func (r *folderRemote) refs(context.Context) (refs, error) { return readRefs(r.repo.git) }

// fetch copies nothing: both repositories are read as one, and what is good is copied when it has been judged.
func (r *folderRemote) fetch(context.Context, []plumbing.Hash, []plumbing.Hash) (storer.EncodedObjectStorer, error) {
	if err := r.scan(r.repo.git); err != nil {
		return nil, &RemoteError{Remote: r.name, Reason: err}
	}
	r.repo.store.Reindex()
	return foreign{r.repo.store, r.repo.git}, nil
}

func (r *folderRemote) push(ctx context.Context, from storer.EncodedObjectStorer, objects []plumbing.Hash, moves []move, progress func(done, total int)) error {
	err := r.pushLocked(ctx, from, objects, moves, progress)
	if err == nil && r.base == gitDir && r.repo.Untidy() {
		_, _ = r.repo.Tidy(ctx, progress) // nothing depends on it: the next one does it otherwise
	}
	return err
}

func (r *folderRemote) pushLocked(ctx context.Context, from storer.EncodedObjectStorer, objects []plumbing.Hash, moves []move, progress func(done, total int)) error {
	if !r.repo.hasRepository() {
		if err := r.repo.layOutRepository(); err != nil {
			return err
		}
	}
	release, err := r.repo.lock(ctx, r.base)
	if errors.Is(err, ErrBusy) {
		return errMoved // somebody else is at it
	}
	if err != nil {
		return err
	}
	defer release()
	if err := r.repo.recover(); err != nil && !r.isNew(err) {
		return err
	}
	if err := r.still(moves); err != nil {
		return err
	}
	if err := send(ctx, r.repo, from, objects, progress); err != nil {
		return err
	}
	for _, m := range moves {
		if err := r.move(m); err != nil {
			return err
		}
	}
	return nil
}

// still reports with errMoved that a reference is not where it was read: nothing needs to be copied then.
func (r *folderRemote) still(moves []move) error {
	all, err := readRefs(r.repo.git)
	for _, m := range moves {
		if err == nil && all[m.ref] != m.old {
			err = errMoved
		}
	}
	return err
}

// isNew reports that the branch is not made yet.
func (r *folderRemote) isNew(err error) bool {
	all, failed := readRefs(r.repo.git)
	return err != nil && failed == nil && all[mainRef].IsZero()
}

func (r *folderRemote) move(m move) error {
	if m.ref != mainRef || m.old.IsZero() {
		return moveRef(r.repo.git, m)
	}
	done := moving{To: m.new.String()}
	if err := r.repo.moveHead(m.old, done); err != nil {
		return err
	}
	_ = r.repo.finish(done, r.repo.settledAt(m.new, done.Vehicle))
	return nil
}

func (r *folderRemote) close() error { return nil }
