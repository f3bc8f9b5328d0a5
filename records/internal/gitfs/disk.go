package gitfs

import (
	"io"
	"io/fs"
	"os"
	"path/filepath"
)

// Disk is what an FS asks of the operating system. Names are slash-separated and relative to the root of the disk; "." is the root.
// The one real implementation is Folder; tests put a failing or forgetting one in its place.
type Disk interface {
	// OpenFile opens name with the flags of package os.
	OpenFile(name string, flag int, perm fs.FileMode) (File, error)
	// Stat describes name and does not follow a symbolic link.
	Stat(name string) (fs.FileInfo, error)
	// ReadDir lists the folder name, sorted.
	ReadDir(name string) ([]fs.FileInfo, error)
	// Rename moves a file over the target, atomically.
	Rename(from, to string) error
	// Remove removes a file or an empty folder.
	Remove(name string) error
	// Mkdir makes one folder.
	Mkdir(name string, perm fs.FileMode) error
	// SyncDir makes the names in the folder durable.
	SyncDir(name string) error
}

// File is an open file of a Disk.
type File interface {
	io.ReadWriteSeeker
	io.ReaderAt
	io.Closer
	// Sync makes the content durable.
	Sync() error
	// Truncate cuts or extends the file.
	Truncate(size int64) error
}

// Folder is the Disk of a real folder.
type Folder string

func (d Folder) path(name string) string { return filepath.Join(string(d), filepath.FromSlash(name)) }

// OpenFile implements Disk.
func (d Folder) OpenFile(name string, flag int, perm fs.FileMode) (File, error) {
	f, err := os.OpenFile(d.path(name), flag, perm)
	if err != nil {
		return nil, err
	}
	return f, nil
}

// Stat implements Disk.
func (d Folder) Stat(name string) (fs.FileInfo, error) { return os.Lstat(d.path(name)) }

// ReadDir implements Disk.
func (d Folder) ReadDir(name string) ([]fs.FileInfo, error) {
	entries, err := os.ReadDir(d.path(name))
	if err != nil {
		return nil, err
	}
	infos := make([]fs.FileInfo, 0, len(entries))
	for _, e := range entries {
		info, err := e.Info()
		if os.IsNotExist(err) {
			continue // removed by another process meanwhile
		}
		if err != nil {
			return nil, err
		}
		infos = append(infos, info)
	}
	return infos, nil
}

// Rename implements Disk.
func (d Folder) Rename(from, to string) error { return os.Rename(d.path(from), d.path(to)) }

// Remove implements Disk.
func (d Folder) Remove(name string) error { return os.Remove(d.path(name)) }

// Mkdir implements Disk.
func (d Folder) Mkdir(name string, perm fs.FileMode) error { return os.Mkdir(d.path(name), perm) }
