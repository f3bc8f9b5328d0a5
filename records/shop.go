// Package records keeps a shop's records in a bare git repository, and each machine's drafts beside it.
//
// Start with Create, Join or Open. Facts go into a vehicle's draft with Append, durable when it returns, and from there into the record with
// Commit, which asks a Gate first; shop, gauge and part records take theirs with Put. Entries are only ever added: Verify proves it for the
// whole history. Every commit is signed by a person in the shop's roster. Sync exchanges commits and drafts with a folder or a git server;
// what comes in is judged before it is merged, and merged by union.
//
// Writing goes through git's plumbing under one lock, so its cost does not grow with the number of vehicles, and real git can read, clone
// and check the repository at any moment. Judgement is deliberately absent: what a gate says is the caller's.
package records

import (
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"sync/atomic"
	"time"

	"feedproof/records/internal/gitfs"
)

// Shop is an open store of records. It may be used by several processes at once, each with its own Shop.
type Shop struct {
	dir    string
	disk   gitfs.FS // the shop's folder
	git    gitfs.FS // its repository
	fresh  gitfs.FS // the repository as the storer writes it: new names are durable at Sync
	store  objects
	device Device
	wait   time.Duration
	looks  atomic.Int64 // at the head
}

// Device is this machine: its name, the bay it stands in and who is on it. Pinned is the fingerprint of the key that signed the first
// commit, as this machine learned it; Verify holds the history to it. Remote is where Sync goes when no other is named.
type Device struct {
	Name   string `json:"name"`
	Bay    string `json:"bay"`
	Who    string `json:"who"`
	Pinned string `json:"pinned"`
	Remote string `json:"remote,omitempty"`
	Copy   bool   `json:"copy,omitempty"` // a copy for reading: nothing is written into it
}

// Find walks up from a folder to the shop that holds it. Without one the error is a *NotShopError.
func Find(start string) (string, error) {
	dir, err := filepath.Abs(start)
	if err != nil {
		return "", err
	}
	for at := dir; ; at = filepath.Dir(at) {
		if isShop(at) {
			return at, nil
		}
		if at == filepath.Dir(at) {
			return "", &NotShopError{Dir: dir}
		}
	}
}

func isShop(dir string) bool {
	_, err := os.Stat(filepath.Join(dir, gitDir, "HEAD"))
	return err == nil
}

// Open opens the shop in a folder. It finishes a commit whose process died. Without a shop the error is a *NotShopError; a branch that
// names no commit is a *BrokenRefError.
func Open(dir string) (*Shop, error) { return open(dir, gitfs.Folder(dir)) }

func open(dir string, d gitfs.Disk) (*Shop, error) {
	s, err := attach(dir, d)
	if err != nil {
		return nil, err
	}
	if _, err := s.git.Stat("HEAD"); errors.Is(err, fs.ErrNotExist) {
		return nil, &NotShopError{Dir: dir}
	}
	if _, err := s.head(); err != nil {
		return nil, err
	}
	if err := s.readDevice(); err != nil {
		return nil, err
	}
	return s, s.mend()
}

// attach joins the folders and go-git's storer.
func attach(dir string, d gitfs.Disk) (*Shop, error) { return attachTo(dir, gitfs.New(d), gitDir) }

// attachTo is attach for a repository of any name in the folder.
func attachTo(dir string, disk gitfs.FS, repository string) (*Shop, error) {
	git, err := disk.Sub(repository)
	if err != nil {
		return nil, err
	}
	fresh := git.Deferred()
	return &Shop{dir: dir, disk: disk, git: git, fresh: fresh, store: newObjects(fresh), wait: writerWait}, nil
}

// mend finishes what a dead writer left, unless a living one is at work or the folder is read-only.
func (s *Shop) mend() error {
	if _, err := s.git.Stat(movingFile); err != nil {
		return nil
	}
	release, got := s.tryLock(gitDir)
	if !got {
		return nil
	}
	defer release()
	return s.recover()
}

// Dir is the shop's folder.
func (s *Shop) Dir() string { return s.dir }

// KeysDir is the folder in which this machine keeps private keys.
func (s *Shop) KeysDir() string { return filepath.Join(s.dir, keysDir) }

// Device is this machine.
func (s *Shop) Device() Device { return s.device }

// SetDevice keeps what this machine is and who is on it. An empty Pinned keeps the pinned key.
func (s *Shop) SetDevice(d Device) error {
	if s.device.Copy {
		return &CopyError{s.dir}
	}
	if d.Pinned == "" {
		d.Pinned = s.device.Pinned
	}
	text, err := json.MarshalIndent(d, "", "  ")
	if err != nil {
		return err
	}
	if err := s.disk.WriteFile(deviceFile, append(text, '\n'), 0o644); err != nil {
		return err
	}
	s.device = d
	return nil
}

func (s *Shop) readDevice() error {
	text, err := s.disk.ReadFile(deviceFile)
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	if err != nil {
		return err
	}
	if err := json.Unmarshal(text, &s.device); err != nil {
		return fmt.Errorf("%s: cannot be read: %w: delete it and say again who is on this machine", deviceFile, err)
	}
	return nil
}
