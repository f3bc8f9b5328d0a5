package records

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"path"
	"time"

	"feedproof/schema"

	"github.com/go-git/go-git/v5/plumbing"
	"github.com/go-git/go-git/v5/plumbing/filemode"
	"github.com/go-git/go-git/v5/plumbing/object"
	"github.com/go-git/go-git/v5/plumbing/storer"
	"golang.org/x/crypto/ssh"
)

// MergeRequest asks for another line of commits, whose objects the repository has, to be joined with the shop's.
type MergeRequest struct {
	Other string // commit
	By    string
	Key   ssh.Signer
	Now   func() time.Time // nil for the clock
}

// MergeResult is what a merge did.
type MergeResult struct {
	Commit   string // where the shop is now
	Incoming int    // commits that came in
	Merged   bool   // a commit of two parents was needed; otherwise the shop just moved on, or had it all
}

// Merge joins another line of commits with the shop's: every record is the union of its entries by id, in order of (counter, id). The
// incoming commits are verified first as Verify does, and the first fault, a *VerifyError, leaves the shop as it was. Folders that are equal
// on both sides are not looked into, so the cost follows what changed.
func (s *Shop) Merge(ctx context.Context, req MergeRequest) (MergeResult, error) {
	release, err := s.lock(ctx, gitDir)
	if err != nil {
		return MergeResult{}, err
	}
	defer release()
	if err := s.recover(); err != nil {
		return MergeResult{}, err
	}
	head, err := s.head()
	if err != nil {
		return MergeResult{}, err
	}
	other := plumbing.NewHash(req.Other)
	fork, err := compare(s.store, head, other)
	if err != nil || fork.oursHolds {
		return MergeResult{Commit: head.String()}, err
	}
	incoming, err := s.verifyIncoming(ctx, head, other, fork.ours)
	if err != nil {
		return MergeResult{}, err
	}
	result := MergeResult{Commit: req.Other, Incoming: incoming, Merged: !fork.theirsHolds}
	if result.Merged {
		joined, err := s.join(req, head, other)
		if err != nil {
			return MergeResult{}, err
		}
		result.Commit = joined.String()
	}
	done := moving{To: result.Commit}
	if err := s.moveHead(head, done); err != nil {
		return MergeResult{}, err
	}
	_ = s.finish(head, done)
	return result, nil
}

// verifyIncoming checks the commits that lead to other and that ours does not list, and counts them.
func (s *Shop) verifyIncoming(ctx context.Context, head, other plumbing.Hash, ours map[plumbing.Hash]bool) (int, error) {
	var roots []plumbing.Hash
	order, err := ancestry(s.store, other, func(c *object.Commit) (bool, error) {
		if len(c.ParentHashes) == 0 {
			roots = append(roots, c.Hash)
		}
		return !ours[c.Hash], nil
	})
	if err != nil {
		return 0, err
	}
	for _, root := range roots {
		if err := s.checkOwnRoot(head, root); err != nil {
			return 0, err
		}
	}
	v := newVerifier(s.store, s.device.Pinned)
	for _, hash := range order {
		if err := ctx.Err(); err != nil {
			return 0, err
		}
		if err := v.commit(hash); err != nil {
			return 0, err
		}
	}
	return len(order), nil
}

// checkOwnRoot refuses a history that begins elsewhere than the shop's.
func (s *Shop) checkOwnRoot(head, root plumbing.Hash) error {
	f, err := compare(s.store, head, root)
	if err == nil && !f.oursHolds {
		err = &VerifyError{Commit: root.String(), Reason: errors.New("begins another shop")}
	}
	return err
}

// join writes the commit of two parents.
func (s *Shop) join(req MergeRequest, head, other plumbing.Hash) (plumbing.Hash, error) {
	ours, err := s.at(head)
	if err != nil {
		return plumbing.ZeroHash, err
	}
	theirs, err := s.at(other)
	if err != nil {
		return plumbing.ZeroHash, err
	}
	signer, err := change{by: req.By, key: req.Key}.checkPeople(ours, schema.Record{}, nil)
	if err != nil {
		return plumbing.ZeroHash, err
	}
	root, err := mergeTrees(s.store, "", ours.root, theirs.root)
	if err != nil {
		return plumbing.ZeroHash, err
	}
	now := time.Now
	if req.Now != nil {
		now = req.Now
	}
	who := author(signer.PersonData, now())
	return writeCommit(s.store, &object.Commit{
		Author: who, Committer: who, Message: "merge\n", TreeHash: root, ParentHashes: []plumbing.Hash{head, other},
	}, req.Key)
}

// mergeTrees is the union of two folders, skipping equal ones by hash.
func mergeTrees(store storer.EncodedObjectStorer, dir string, a, b plumbing.Hash) (plumbing.Hash, error) {
	if a == b {
		return a, nil
	}
	ours, err := readTree(store, a)
	if err != nil {
		return plumbing.ZeroHash, err
	}
	theirs, err := readTree(store, b)
	if err != nil {
		return plumbing.ZeroHash, err
	}
	union := ours.Entries
	for _, e := range theirs.Entries {
		have, there := find(ours, e.Name)
		if there && have.Hash == e.Hash && have.Mode == e.Mode {
			continue
		}
		if there {
			if e, err = mergeEntries(store, path.Join(dir, e.Name), have, e); err != nil {
				return plumbing.ZeroHash, err
			}
		}
		union = replace(union, e)
	}
	return writeTree(store, union)
}

// mergeEntries joins two folders or two records of one name.
func mergeEntries(store storer.EncodedObjectStorer, p string, a, b object.TreeEntry) (object.TreeEntry, error) {
	var err error
	switch {
	case a.Mode != b.Mode:
		err = fmt.Errorf("%s: is a folder on one side and a file on the other", p)
	case a.Mode == filemode.Dir:
		b.Hash, err = mergeTrees(store, p, a.Hash, b.Hash)
	case path.Ext(p) != jsonExt:
		err = fmt.Errorf("%s: differs, and is no record", p)
	default:
		b.Hash, err = mergeRecords(store, p, a.Hash, b.Hash)
	}
	return b, err
}

func mergeRecords(store storer.EncodedObjectStorer, p string, a, b plumbing.Hash) (plumbing.Hash, error) {
	ours, err := snapshot{store: store}.anyRecordBlob(p, a)
	if err != nil {
		return plumbing.ZeroHash, err
	}
	theirs, err := snapshot{store: store}.anyRecordBlob(p, b)
	if err != nil {
		return plumbing.ZeroHash, err
	}
	merged, err := union(ours, theirs)
	if err != nil {
		return plumbing.ZeroHash, fmt.Errorf("%s: %w", p, err)
	}
	return writeBlob(store, merged.Encode())
}

// union is the record with the entries of both, of the newer version of the two. One id with different bytes is a *ConflictError.
func union(a, b schema.Record) (schema.Record, error) {
	if a.Kind != b.Kind || a.ID != b.ID {
		return a, errors.New("is the record of one thing here and of another there")
	}
	have := make(map[string]schema.Entry, len(a.Entries))
	for _, e := range a.Entries {
		have[e.ID] = e
	}
	for _, e := range b.Entries {
		if mine, there := have[e.ID]; there && !bytes.Equal(mine.Raw(), e.Raw()) {
			return a, &ConflictError{Entry: e.ID}
		}
	}
	a.Version = max(a.Version, b.Version)
	return a.With(b.Entries...), nil
}

// fork is how two commits stand to each other.
type fork struct {
	oursHolds   bool // theirs is behind ours or the same
	theirsHolds bool // ours is behind theirs
	ours        map[plumbing.Hash]bool
}

// compare walks back from both commits in step, until one is met from the other or one side's own commits are all seen.
func compare(store storer.EncodedObjectStorer, ours, theirs plumbing.Hash) (fork, error) {
	f := fork{ours: map[plumbing.Hash]bool{}}
	a, b := walk{store, []plumbing.Hash{ours}, f.ours}, walk{store, []plumbing.Hash{theirs}, map[plumbing.Hash]bool{}}
	for len(a.next) > 0 || len(b.next) > 0 {
		if err := a.step(b.seen); err != nil {
			return f, err
		}
		if err := b.step(a.seen); err != nil {
			return f, err
		}
		if f.oursHolds, f.theirsHolds = a.seen[theirs], b.seen[ours]; f.oursHolds || f.theirsHolds {
			return f, nil
		}
	}
	return f, nil
}

// walk goes back from a commit, nearest first.
type walk struct {
	store storer.EncodedObjectStorer
	next  []plumbing.Hash
	seen  map[plumbing.Hash]bool
}

// step visits one commit. What lies behind one that the other walk has seen is of no interest: it is behind both.
func (w *walk) step(other map[plumbing.Hash]bool) error {
	if len(w.next) == 0 {
		return nil
	}
	at := w.next[0]
	w.next = w.next[1:]
	if w.seen[at] {
		return nil
	}
	w.seen[at] = true
	if other[at] {
		return nil
	}
	c, err := readCommit(w.store, at)
	if err != nil {
		return err
	}
	w.next = append(w.next, c.ParentHashes...)
	return nil
}
