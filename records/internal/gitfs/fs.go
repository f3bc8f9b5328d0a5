// Package gitfs is a billy.Filesystem on which every write is atomic and durable.
//
// Use New over a Folder and hand it to go-git's filesystem storer, which by itself truncates references in place and syncs nothing.
// A file opened for truncation is written beside its target, synced, renamed, and the folder synced, when it is closed. The temporary
// file never lies under refs/, where it would be read as a branch. Symbolic links and permissions are deliberately absent.
package gitfs

import (
	"crypto/rand"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"strings"

	"github.com/go-git/go-billy/v5"
)

// TempPrefix begins the name of each file not yet in place. One left by a dead process holds nothing acknowledged.
const TempPrefix = "tmp_feedproof_"

const (
	fileMode = 0o644
	dirMode  = 0o755
)

// FS is a billy.Filesystem over a Disk. It is safe for use by several goroutines when its Disk is.
type FS struct {
	disk    Disk
	base    string   // below the root of the disk, "." for all of it
	pending *pending // nil: everything is durable at once
}

var _ billy.Filesystem = FS{}

// New returns the filesystem of a disk.
func New(d Disk) FS { return FS{disk: d, base: "."} }

// Renew has Sync make the names in these folders durable once more: another process may have made them and died before it did.
func (f FS) Renew(dirs ...string) error {
	for _, dir := range dirs {
		target, err := f.resolve(dir)
		if err != nil {
			return err
		}
		if err := f.syncDir(target); err != nil {
			return err
		}
	}
	return nil
}

// syncDir makes the names in a folder durable, now or at Sync.
func (f FS) syncDir(dir string) error {
	if f.pending == nil {
		return f.disk.SyncDir(dir)
	}
	f.pending.touch(dir)
	return nil
}

// Capabilities leaves out opening for read and write, so that go-git replaces a reference instead of editing it in place.
func (f FS) Capabilities() billy.Capability {
	return billy.ReadCapability | billy.WriteCapability | billy.SeekCapability | billy.TruncateCapability
}

// Create opens a file for replacement.
func (f FS) Create(name string) (billy.File, error) {
	return f.OpenFile(name, os.O_RDWR|os.O_CREATE|os.O_TRUNC, fileMode)
}

// Open opens a file for reading.
func (f FS) Open(name string) (billy.File, error) { return f.OpenFile(name, os.O_RDONLY, 0) }

// OpenFile opens a file. With O_TRUNC the new content takes the place of the old one at Close; any other writing is synced at Close.
func (f FS) OpenFile(name string, flag int, perm fs.FileMode) (billy.File, error) {
	target, err := f.resolve(name)
	if err != nil {
		return nil, err
	}
	if flag&os.O_CREATE != 0 {
		if err := f.makeDirs(path.Dir(target)); err != nil {
			return nil, err
		}
	}
	if flag&os.O_TRUNC != 0 && flag&os.O_EXCL == 0 {
		return f.replace(name, target, perm)
	}
	inner, err := f.disk.OpenFile(f.pending.where(target), flag, perm)
	if err != nil {
		return nil, err
	}
	if flag&(os.O_WRONLY|os.O_RDWR) == 0 {
		return &file{File: inner, name: name}, nil
	}
	dir := ""
	if flag&os.O_CREATE != 0 {
		dir = path.Dir(target)
	}
	return &file{File: inner, name: name, finish: func(failed error) error { return f.settle(inner, dir, failed) }}, nil
}

// replace opens the temporary file that takes target's place at Close.
func (f FS) replace(name, target string, perm fs.FileMode) (billy.File, error) {
	temp := tempName(tempDir(target), TempPrefix)
	inner, err := f.disk.OpenFile(temp, os.O_RDWR|os.O_CREATE|os.O_EXCL, perm)
	if err != nil {
		return nil, err
	}
	finish := func(failed error) error {
		err := f.settle(inner, "", failed)
		if err == nil {
			err = f.move(temp, target)
		}
		if err != nil {
			_ = f.disk.Remove(temp) // the first error counts; a stray temporary file is swept later
		}
		return err
	}
	return &file{File: inner, name: name, finish: finish}, nil
}

// settle syncs and closes a written file, then its folder if one is named.
func (f FS) settle(inner File, dir string, failed error) error {
	err := failed
	if err == nil {
		err = inner.Sync()
	}
	if closed := inner.Close(); err == nil {
		err = closed
	}
	if err == nil && dir != "" {
		err = f.syncDir(dir)
	}
	return err
}

// move renames and makes the new name durable.
func (f FS) move(from, to string) error {
	if err := f.disk.Rename(from, to); err != nil {
		return err
	}
	return f.syncDir(path.Dir(to))
}

// tempDir is the folder of the target, or the one above refs/.
func tempDir(target string) string {
	parts := strings.Split(path.Dir(target), "/")
	for i, p := range parts {
		if p == "refs" {
			return path.Join(append([]string{"."}, parts[:i]...)...)
		}
	}
	return path.Dir(target)
}

func tempName(dir, prefix string) string {
	return path.Join(dir, prefix+rand.Text())
}

// TempFile creates a file of a new name, to be renamed. It is synced at Close, or with the others at Sync.
func (f FS) TempFile(dir, prefix string) (billy.File, error) {
	name := tempName(filepath.ToSlash(dir), prefix)
	if f.pending == nil {
		return f.OpenFile(name, os.O_RDWR|os.O_CREATE|os.O_EXCL, fileMode)
	}
	target, err := f.resolve(name)
	if err != nil {
		return nil, err
	}
	if err := f.makeDirs(path.Dir(target)); err != nil {
		return nil, err
	}
	inner, err := f.disk.OpenFile(target, os.O_RDWR|os.O_CREATE|os.O_EXCL, fileMode)
	if err != nil {
		return nil, err
	}
	return &file{File: inner, name: name, finish: func(failed error) error { return f.pending.keep(target, inner, failed) }}, nil
}

// Rename moves a file over the target and makes the new name durable.
func (f FS) Rename(from, to string) error {
	source, err := f.resolve(from)
	if err != nil {
		return err
	}
	target, err := f.resolve(to)
	if err != nil {
		return err
	}
	if err := f.makeDirs(path.Dir(target)); err != nil {
		return err
	}
	if f.pending.move(source, target) {
		return f.flushMany()
	}
	return f.move(source, target)
}

// Remove removes a file or an empty folder, durably.
func (f FS) Remove(name string) error {
	target, err := f.resolve(name)
	if err != nil {
		return err
	}
	if err := f.disk.Remove(f.pending.forget(target)); err != nil {
		return err
	}
	return f.syncDir(path.Dir(target))
}

// Stat describes a file.
func (f FS) Stat(name string) (fs.FileInfo, error) {
	target, err := f.resolve(name)
	if err != nil {
		return nil, err
	}
	return f.disk.Stat(f.pending.where(target))
}

// Lstat is Stat: links are not followed.
func (f FS) Lstat(name string) (fs.FileInfo, error) { return f.Stat(name) }

// ReadDir lists a folder.
func (f FS) ReadDir(name string) ([]fs.FileInfo, error) {
	target, err := f.resolve(name)
	if err != nil {
		return nil, err
	}
	return f.disk.ReadDir(target)
}

// MkdirAll makes a folder and the missing ones above it, durably.
func (f FS) MkdirAll(name string, _ fs.FileMode) error {
	target, err := f.resolve(name)
	if err != nil {
		return err
	}
	return f.makeDirs(target)
}

func (f FS) makeDirs(dir string) error {
	if dir == "." {
		return nil
	}
	info, err := f.disk.Stat(dir)
	if err == nil && info.IsDir() {
		return nil
	}
	if err == nil {
		return fmt.Errorf("%s: is not a folder", dir)
	}
	if err := f.makeDirs(path.Dir(dir)); err != nil {
		return err
	}
	if err := f.disk.Mkdir(dir, dirMode); err != nil && !errors.Is(err, fs.ErrExist) {
		return err
	}
	return f.syncDir(path.Dir(dir))
}

// Symlink is not supported.
func (f FS) Symlink(string, string) error { return billy.ErrNotSupported }

// Readlink is not supported.
func (f FS) Readlink(string) (string, error) { return "", billy.ErrNotSupported }

// Chroot returns the filesystem of a folder below.
func (f FS) Chroot(name string) (billy.Filesystem, error) { return f.Sub(name) }

// Sub is Chroot with the type kept.
func (f FS) Sub(name string) (FS, error) {
	base, err := f.resolve(name)
	f.base = base
	return f, err
}

// Root is the folder below the disk's root.
func (f FS) Root() string { return f.base }

// Join joins path elements.
func (f FS) Join(elem ...string) string { return path.Join(elem...) }

// resolve turns a name into one of the disk, or refuses one that leaves the filesystem.
func (f FS) resolve(name string) (string, error) {
	clean := path.Join(".", filepath.ToSlash(name))
	clean = strings.TrimPrefix(clean, "/")
	if clean == "" {
		clean = "."
	}
	if !filepath.IsLocal(clean) {
		return "", fmt.Errorf("%s: %w", name, billy.ErrCrossedBoundary)
	}
	return path.Join(f.base, clean), nil
}

// ReadFile reads a whole file.
func (f FS) ReadFile(name string) ([]byte, error) {
	in, err := f.Open(name)
	if err != nil {
		return nil, err
	}
	defer in.Close()
	return io.ReadAll(in)
}

// WriteFile replaces a file, atomically and durably.
func (f FS) WriteFile(name string, content []byte, perm fs.FileMode) error {
	out, err := f.OpenFile(name, os.O_WRONLY|os.O_CREATE|os.O_TRUNC, perm)
	if err != nil {
		return err
	}
	_, err = out.Write(content)
	if closed := out.Close(); err == nil {
		err = closed
	}
	return err
}

// WriteNew creates a file that must not exist yet, durably. A half-written one is removed.
func (f FS) WriteNew(name string, content []byte, perm fs.FileMode) error {
	out, err := f.OpenFile(name, os.O_WRONLY|os.O_CREATE|os.O_EXCL, perm)
	if err != nil {
		return err
	}
	_, err = out.Write(content)
	if closed := out.Close(); err == nil {
		err = closed
	}
	if err != nil {
		return errors.Join(err, f.Remove(name))
	}
	return nil
}
