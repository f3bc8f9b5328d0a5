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
// incoming commits are judged first, and the first fault, a *VerifyError, leaves the shop as it was. Folders that are equal on both sides
// are not looked into, so the cost follows what changed.
func (s *Shop) Merge(ctx context.Context, req MergeRequest) (MergeResult, error) {
	other := plumbing.NewHash(req.Other)
	found, err := s.judge(ctx, s.store, []plumbing.Hash{other}, nil)
	if err != nil {
		return MergeResult{}, err
	}
	if len(found.bad) > 0 {
		return MergeResult{}, found.first()
	}
	release, err := s.lock(ctx, gitDir)
	if err != nil {
		return MergeResult{}, err
	}
	defer release()
	if err := s.recover(); err != nil {
		return MergeResult{}, err
	}
	merged, err := s.advance(req, other)
	return MergeResult{Commit: merged.to.String(), Incoming: len(found.good), Merged: merged.joined}, err
}

// advanced is how the branch moved.
type advanced struct {
	from, to plumbing.Hash
	joined   bool // by a commit of two parents
}

// advance moves the branch so that it leads to another commit, which has been judged. The caller holds the lock of the repository.
func (s *Shop) advance(req MergeRequest, other plumbing.Hash) (advanced, error) {
	head, err := s.head()
	if err != nil {
		return advanced{}, err
	}
	moved := advanced{from: head, to: head}
	l, err := apart(s.store, []plumbing.Hash{head}, []plumbing.Hash{other})
	if err != nil || l.holds(other) {
		return moved, err
	}
	moved.to, moved.joined = other, !l.holds(head)
	if moved.joined {
		if moved.to, err = s.join(req, head, other, l.common()); err != nil {
			return advanced{from: head, to: head}, err
		}
	}
	done := moving{To: moved.to.String()}
	if err := s.moveHead(head, done); err != nil {
		return advanced{from: head, to: head}, err
	}
	_ = s.finish(done, s.settledAt(moved.to, done.Vehicle))
	return moved, nil
}

// join writes the commit of two parents, which both build on a third.
func (s *Shop) join(req MergeRequest, head, other, common plumbing.Hash) (plumbing.Hash, error) {
	ours, err := s.at(head)
	if err != nil {
		return plumbing.ZeroHash, err
	}
	theirs, err := s.at(other)
	if err != nil {
		return plumbing.ZeroHash, err
	}
	both, err := s.at(common)
	if err != nil {
		return plumbing.ZeroHash, err
	}
	root, err := mergeTrees(s.store, "", both.root, ours.root, theirs.root)
	if err != nil {
		return plumbing.ZeroHash, err
	}
	signer, err := change{by: req.By, key: req.Key}.checkPeople(snapshot{store: s.store, root: root}, schema.Record{}, nil)
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

// mergeTrees is the union of two folders, skipping equal ones by hash. What one side has just as an older state of both had it is the
// other's: records only grow. Without an older state it is the zero hash.
func mergeTrees(store storer.EncodedObjectStorer, dir string, old, a, b plumbing.Hash) (plumbing.Hash, error) {
	switch {
	case a == b || b == old:
		return a, nil
	case a == old:
		return b, nil
	}
	var trees [3]*object.Tree
	for i, hash := range []plumbing.Hash{old, a, b} {
		var err error
		if trees[i], err = readTree(store, hash); err != nil {
			return plumbing.ZeroHash, err
		}
	}
	before, ours, theirs := trees[0], trees[1], trees[2]
	union := ours.Entries
	for _, e := range theirs.Entries {
		have, there := find(ours, e.Name)
		was, _ := find(before, e.Name)
		if there && have.Mode == e.Mode && (have.Hash == e.Hash || was.Hash == e.Hash) {
			continue
		}
		if there && (have.Mode != e.Mode || have.Hash != was.Hash) {
			var err error
			if e, err = mergeEntries(store, path.Join(dir, e.Name), was.Hash, have, e); err != nil {
				return plumbing.ZeroHash, err
			}
		}
		union = replace(union, e)
	}
	return writeTree(store, union)
}

// mergeEntries joins two folders or two records of one name.
func mergeEntries(store storer.EncodedObjectStorer, p string, old plumbing.Hash, a, b object.TreeEntry) (object.TreeEntry, error) {
	var err error
	switch {
	case a.Mode != b.Mode:
		err = fmt.Errorf("%s: is a folder on one side and a file on the other", p)
	case a.Mode == filemode.Dir:
		b.Hash, err = mergeTrees(store, p, old, a.Hash, b.Hash)
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

// MergeFiles is what a merge by another program puts in place of two states of a record: the union of their entries, as Merge makes it. Base
// is the state that both began from, empty when the record is new on both sides. An entry of the base that one side lacks, and one id with
// different bytes, is an error.
func MergeFiles(base, ours, theirs []byte) ([]byte, error) {
	var sides [2]schema.Record
	for i, text := range [][]byte{ours, theirs} {
		r, err := decodeAny(text)
		if err != nil {
			return nil, err
		}
		sides[i] = r
	}
	if len(bytes.TrimSpace(base)) > 0 {
		begun, err := decodeAny(base)
		if err != nil {
			return nil, err
		}
		for _, side := range sides {
			if err := appendOnly(begun, side, &VerifyError{}); err != nil {
				return nil, fmt.Errorf("%s %s: %w", begun.Kind, begun.ID, err)
			}
		}
	}
	merged, err := union(sides[0], sides[1])
	if err != nil {
		return nil, err
	}
	return merged.Encode(), nil
}

// decodeAny reads a record of any version.
func decodeAny(text []byte) (schema.Record, error) {
	r, err := schema.DecodeRecord(text)
	if newer := (*schema.TooNewError)(nil); errors.As(err, &newer) {
		err = nil
	}
	return r, err
}
