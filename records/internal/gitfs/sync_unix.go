//go:build !windows

package gitfs

import (
	"errors"
	"os"
)

// SyncDir implements Disk.
func (d Folder) SyncDir(name string) error {
	dir, err := os.Open(d.path(name))
	if err != nil {
		return err
	}
	if err := dir.Sync(); err != nil {
		return errors.Join(err, dir.Close())
	}
	return dir.Close()
}
