// Package gitfstest breaks disks on purpose: Faulty fails or stops at the nth change, and Memory forgets what was not synced.
//
// It is for tests alone and is imported by nothing else.
package gitfstest

import (
	"errors"
	"io/fs"
	"os"
	"sync"
	"syscall"

	"feedproof/records/internal/gitfs"
)

// ErrFault is what a call that is made to fail returns.
var ErrFault = errors.New("fault")

// Mode is how a Faulty disk breaks.
type Mode int

// Modes.
const (
	FailOnce Mode = iota // the nth change fails, the others work
	Stop                 // the nth change and all later ones fail, as when the process dies
	Tear                 // as Stop, but a write at the nth change leaves its first half
	Full                 // from the nth change on nothing can be written or created, as on a full disk; removing works
	ReadOnly             // no change works at all
)

// Faulty is a disk that breaks at its nth change: a write, a sync, a close of a written file, a rename, a removal, a new name.
type Faulty struct {
	gitfs.Disk
	mode Mode
	at   int

	mu    sync.Mutex
	count int
	calls []string
}

// NewFaulty breaks the disk at its nth change, counted from 1; 0 never.
func NewFaulty(d gitfs.Disk, mode Mode, at int) *Faulty { return &Faulty{Disk: d, mode: mode, at: at} }

// Changes is how many changes were asked for.
func (d *Faulty) Changes() int {
	d.mu.Lock()
	defer d.mu.Unlock()
	return d.count
}

// Arm counts from anew and breaks at the nth change from here; 0 never.
func (d *Faulty) Arm(mode Mode, at int) {
	d.mu.Lock()
	defer d.mu.Unlock()
	d.mode, d.at, d.count, d.calls = mode, at, 0, nil
}

// Call is the nth change since it was armed, in words.
func (d *Faulty) Call(n int) string {
	d.mu.Lock()
	defer d.mu.Unlock()
	if n < 1 || n > len(d.calls) {
		return "none"
	}
	return d.calls[n-1]
}

// space says whether a change takes room on the disk.
type space bool

const (
	takes space = true
	frees space = false
)

// change counts one and says whether it fails, and whether it is the very one that was asked for.
func (d *Faulty) change(call string, s space) (exact bool, err error) {
	d.mu.Lock()
	defer d.mu.Unlock()
	d.count++
	d.calls = append(d.calls, call)
	exact = d.count == d.at
	due := d.at > 0 && d.count >= d.at
	switch {
	case d.mode == ReadOnly:
		return exact, &fs.PathError{Op: call, Err: syscall.EROFS}
	case d.mode == Full && due && s == takes:
		return exact, &fs.PathError{Op: call, Err: syscall.ENOSPC}
	case d.mode == FailOnce && exact, (d.mode == Stop || d.mode == Tear) && due:
		return exact, ErrFault
	}
	return exact, nil
}

// OpenFile implements gitfs.Disk.
func (d *Faulty) OpenFile(name string, flag int, perm fs.FileMode) (gitfs.File, error) {
	if flag&(os.O_WRONLY|os.O_RDWR) == 0 {
		return d.Disk.OpenFile(name, flag, perm)
	}
	if flag&os.O_CREATE != 0 {
		if _, err := d.Disk.Stat(name); err != nil {
			if _, err := d.change("create "+name, takes); err != nil {
				return nil, err
			}
		}
	}
	if d.mode == ReadOnly {
		_, err := d.change("open "+name, takes)
		return nil, err
	}
	f, err := d.Disk.OpenFile(name, flag, perm)
	if err != nil {
		return nil, err
	}
	return &faultyFile{File: f, disk: d, name: name}, nil
}

// Rename implements gitfs.Disk.
func (d *Faulty) Rename(from, to string) error {
	if _, err := d.change("rename "+from+" "+to, frees); err != nil {
		return err
	}
	return d.Disk.Rename(from, to)
}

// Remove implements gitfs.Disk.
func (d *Faulty) Remove(name string) error {
	if _, err := d.change("remove "+name, frees); err != nil {
		return err
	}
	return d.Disk.Remove(name)
}

// Mkdir implements gitfs.Disk.
func (d *Faulty) Mkdir(name string, perm fs.FileMode) error {
	if _, err := d.change("mkdir "+name, takes); err != nil {
		return err
	}
	return d.Disk.Mkdir(name, perm)
}

// SyncDir implements gitfs.Disk.
func (d *Faulty) SyncDir(name string) error {
	if _, err := d.change("syncdir "+name, frees); err != nil {
		return err
	}
	return d.Disk.SyncDir(name)
}

type faultyFile struct {
	gitfs.File
	disk *Faulty
	name string
}

func (f *faultyFile) Write(p []byte) (int, error) {
	exact, err := f.disk.change("write "+f.name, takes)
	if err == nil {
		return f.File.Write(p)
	}
	if exact && (f.disk.mode == Tear || f.disk.mode == Full) {
		n, _ := f.File.Write(p[:len(p)/2])
		return n, err
	}
	return 0, err
}

func (f *faultyFile) Sync() error {
	if _, err := f.disk.change("sync "+f.name, frees); err != nil {
		return err
	}
	return f.File.Sync()
}

func (f *faultyFile) Truncate(size int64) error {
	if _, err := f.disk.change("truncate "+f.name, frees); err != nil {
		return err
	}
	return f.File.Truncate(size)
}

func (f *faultyFile) Close() error {
	_, err := f.disk.change("close "+f.name, frees)
	if closed := f.File.Close(); err == nil {
		err = closed
	}
	return err
}
