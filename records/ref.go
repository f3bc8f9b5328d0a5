package records

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"strings"
	"time"

	"github.com/go-git/go-git/v5/plumbing"
	"github.com/go-git/go-git/v5/plumbing/object"
)

const (
	mainRef    = plumbing.ReferenceName("refs/heads/main")
	mainLock   = string(mainRef) + ".lock" // git's own lock on the branch
	movingFile = "feedproof.moving"        // what a writer is about to do
)

// errMoved says that the branch is not where the writer read it.
var errMoved = errors.New("the shop's branch moved meanwhile")

// moving is written before the branch moves and removed when all that follows is done, so that the next process can finish or forget a
// commit whose process died.
type moving struct {
	To      string `json:"to"`                // the commit
	Vehicle string `json:"vehicle,omitempty"` // whose draft went into it
}

// HeadReads counts how often this Shop has read what its last commit is. Who reads it once sees one shop; who reads it twice may see two.
func (s *Shop) HeadReads() int64 { return s.looks.Load() }

// head is the last commit of the shop.
func (s *Shop) head() (plumbing.Hash, error) {
	s.looks.Add(1)
	raw, err := s.git.ReadFile(string(mainRef))
	if errors.Is(err, fs.ErrNotExist) {
		return s.packedHead()
	}
	if err != nil {
		return plumbing.ZeroHash, err
	}
	text := strings.TrimSpace(string(raw))
	if !plumbing.IsHash(text) {
		return plumbing.ZeroHash, &BrokenRefError{Ref: gitDir + "/" + string(mainRef), Tips: s.tips()}
	}
	return plumbing.NewHash(text), nil
}

// packedHead reads the branch where git gc keeps it.
func (s *Shop) packedHead() (plumbing.Hash, error) {
	ref, err := s.store.Reference(mainRef)
	if errors.Is(err, plumbing.ErrReferenceNotFound) {
		return plumbing.ZeroHash, fmt.Errorf("%s: was not finished: run feedproof shop new again", s.dir)
	}
	if err != nil {
		return plumbing.ZeroHash, err
	}
	return ref.Hash(), nil
}

// tips lists the commits that no other commit builds on, to mend a lost branch by.
func (s *Shop) tips() []string {
	objects, err := s.store.IterEncodedObjects(plumbing.CommitObject)
	if err != nil {
		return nil
	}
	built, all := map[plumbing.Hash]bool{}, []plumbing.Hash{}
	_ = objects.ForEach(func(o plumbing.EncodedObject) error {
		c := &object.Commit{}
		if c.Decode(o) == nil {
			all = append(all, c.Hash)
			for _, p := range c.ParentHashes {
				built[p] = true
			}
		}
		return nil
	})
	var tips []string
	for _, h := range all {
		if !built[h] {
			tips = append(tips, h.String())
		}
	}
	return tips
}

// moveHead moves the branch from old to its next commit if it still is at old. The caller holds the lock of the repository; git's own
// lock file keeps git out as well.
func (s *Shop) moveHead(old plumbing.Hash, next moving) error {
	note, err := json.Marshal(next)
	if err != nil {
		return err
	}
	if err := s.fresh.Stage(movingFile, note); err != nil {
		return err
	}
	if err := s.fresh.Sync(); err != nil {
		return err
	}
	if err := s.lockMain(next.To); err != nil {
		return errors.Join(err, s.git.Remove(movingFile))
	}
	now, err := s.head()
	if err == nil && now != old {
		err = errMoved
	}
	if err != nil {
		return errors.Join(err, s.git.Remove(mainLock), s.git.Remove(movingFile))
	}
	return s.git.Rename(mainLock, string(mainRef))
}

// lockMain creates git's lock file of the branch, which holds the next value.
func (s *Shop) lockMain(to string) error {
	for deadline := time.Now().Add(s.wait); ; time.Sleep(lockPoll) {
		err := s.fresh.WriteNew(mainLock, []byte(to+"\n"), 0o644) // the rename that follows makes it durable
		if !errors.Is(err, fs.ErrExist) {
			return err
		}
		if time.Now().After(deadline) {
			return &BusyError{What: gitDir + "/" + mainLock, Hint: "if no git is running on this shop, delete that file"}
		}
	}
}

// recover finishes or forgets what a dead writer left. The caller holds the lock of the repository.
func (s *Shop) recover() error {
	note, err := s.git.ReadFile(movingFile)
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	if err != nil {
		return err
	}
	var left moving
	if err := json.Unmarshal(note, &left); err != nil {
		return fmt.Errorf("%s/%s: cannot be read: %w", gitDir, movingFile, err)
	}
	now, err := s.head()
	if err != nil {
		return err
	}
	if err := s.clearMainLock(now, left); err != nil {
		return err
	}
	if err := s.git.Renew("refs/heads"); err != nil { // the dead writer may have moved the branch without syncing that
		return err
	}
	return s.finish(left, s.settledAt(now, left.Vehicle))
}

// clearMainLock removes the lock file that the dead writer made, and no other's.
func (s *Shop) clearMainLock(now plumbing.Hash, left moving) error {
	held, err := s.git.ReadFile(mainLock)
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	if err != nil {
		return err
	}
	whole := []byte(left.To + "\n")
	ours := bytes.Equal(held, whole) || now.String() != left.To && bytes.HasPrefix(whole, held)
	if !ours {
		return nil
	}
	return s.git.Remove(mainLock)
}

// finish drops from the draft what is in the record, and forgets the note.
func (s *Shop) finish(done moving, committed func() (settled, error)) error {
	if done.Vehicle != "" {
		if err := s.settleDraft(done.Vehicle, committed); err != nil {
			return err
		}
	}
	return s.fresh.Remove(movingFile) // one that comes back finds nothing left to do
}
