package records

import (
	"context"
	"errors"
	"path"
	"slices"
	"time"

	"feedproof/records/signature"
	"feedproof/schema"

	"github.com/go-git/go-git/v5/plumbing"
	"github.com/go-git/go-git/v5/plumbing/object"
	"github.com/go-git/go-git/v5/plumbing/storer"
)

// Change is a commit that added to a record, or a merge that joined what two lines had added: what git log tells of the record's path.
type Change struct {
	Commit  string         `json:"commit"`
	When    time.Time      `json:"when"` // by the clock of the machine that committed
	By      string         `json:"by"`   // whose key signed it, by today's roster; empty when it is nobody's
	Key     string         `json:"key"`  // fingerprint
	Message string         `json:"message"`
	Merge   bool           `json:"merge"`
	Entries []schema.Entry `json:"-"` // that none of its parents has, in order of (counter, id); a merge has none as a rule
}

// History lists the commits that changed a record, parents before children. Progress may be nil; it counts commits looked at, of 0 until all
// have been, for how many lie behind the record's first is not known before. A missing record is a *NotFoundError.
func (s *Shop) History(ctx context.Context, kind schema.RecordKind, id string, progress func(done, total int)) ([]Change, error) {
	p, err := recordPath(kind, id)
	if err != nil {
		return nil, err
	}
	head, err := s.head()
	if err != nil {
		return nil, err
	}
	t := trail{store: s.store, path: p, folders: map[plumbing.Hash]plumbing.Hash{}, commits: map[plumbing.Hash]waypoint{}}
	order, err := ancestry(s.store, head, func(c *object.Commit) (bool, error) {
		if progress != nil {
			progress(len(t.commits)+1, 0)
		}
		there, err := t.pass(c)
		return there, errors.Join(err, ctx.Err())
	})
	if progress != nil {
		progress(len(t.commits), len(t.commits))
	}
	if err != nil {
		return nil, err
	}
	if len(order) == 0 {
		return nil, &NotFoundError{Kind: kind, ID: id}
	}
	return s.changes(t, order)
}

// trail follows one record from commit to commit.
type trail struct {
	store   storer.EncodedObjectStorer
	path    string
	folders map[plumbing.Hash]plumbing.Hash // the record by the folder it lies in, which most commits leave as it was
	commits map[plumbing.Hash]waypoint
}

// waypoint is a commit on a trail.
type waypoint struct {
	record  plumbing.Hash // zero where it is not there
	parents []plumbing.Hash
}

// pass notes a commit and reports whether it holds the record.
func (t trail) pass(c *object.Commit) (bool, error) {
	record, err := t.find(c.TreeHash)
	t.commits[c.Hash] = waypoint{record, c.ParentHashes}
	return !record.IsZero(), err
}

// find is the record under a commit's tree.
func (t trail) find(root plumbing.Hash) (plumbing.Hash, error) {
	dir, name := path.Split(t.path)
	folder := root
	if dir != "" {
		entry, err := snapshot{store: t.store, root: root}.lookup(path.Clean(dir))
		if err != nil {
			return plumbing.ZeroHash, err
		}
		folder = entry.Hash
	}
	if record, known := t.folders[folder]; known {
		return record, nil
	}
	entry, err := snapshot{store: t.store, root: folder}.lookup(name)
	t.folders[folder] = entry.Hash
	return entry.Hash, err
}

// turns reports that the record left a commit as it was in none of its parents.
func (t trail) turns(commit plumbing.Hash) bool {
	at := t.commits[commit]
	return !slices.ContainsFunc(at.parents, func(parent plumbing.Hash) bool { return t.commits[parent].record == at.record })
}

func (s *Shop) changes(t trail, order []plumbing.Hash) ([]Change, error) {
	roster, err := s.Roster()
	if err != nil {
		return nil, err
	}
	var all []Change
	for _, hash := range order {
		if !t.turns(hash) {
			continue
		}
		c, err := readCommit(s.store, hash)
		if err != nil {
			return nil, err
		}
		entries, err := t.addedBy(hash)
		if err != nil {
			return nil, err
		}
		all = append(all, describe(c, entries, roster))
	}
	return all, nil
}

// addedBy is the entries of a commit's record that none of its parents has.
func (t trail) addedBy(commit plumbing.Hash) ([]schema.Entry, error) {
	at := t.commits[commit]
	after, err := snapshot{store: t.store}.anyRecordBlob(t.path, at.record)
	if err != nil {
		return nil, err
	}
	var old schema.Record
	for _, parent := range at.parents {
		was := t.commits[parent].record
		if was.IsZero() {
			continue
		}
		before, err := snapshot{store: t.store}.anyRecordBlob(t.path, was)
		if err != nil {
			return nil, err
		}
		old = old.With(before.Entries...)
	}
	return beyond(old, after), nil
}

func describe(c *object.Commit, entries []schema.Entry, roster signature.Roster) Change {
	change := Change{
		Commit: c.Hash.String(), When: c.Committer.When, Message: c.Message, Merge: len(c.ParentHashes) > 1, Entries: entries,
	}
	if key, err := commitKey(c); err == nil {
		owner, _ := roster.Signer(key)
		change.By, change.Key = owner.Person, signature.Fingerprint(key)
	}
	return change
}

// HeadSigner is whose key signed the last commit, by the roster in it: a look at the end of the history, where what somebody else wrote into a
// copy shows first. That all of it is as it was is for Verify to prove.
//
// Errors: *[VerifyError] when it is not signed, or with a key that is nobody's.
func (s *Shop) HeadSigner() (who signature.Member, commit string, err error) {
	snap, head, err := s.snapshot()
	if err != nil {
		return who, "", err
	}
	c, err := readCommit(s.store, head)
	if err != nil {
		return who, head.String(), &VerifyError{Commit: head.String(), Reason: err}
	}
	key, err := commitKey(c)
	if err != nil {
		return who, head.String(), &VerifyError{Commit: head.String(), Reason: err}
	}
	roster, err := snap.roster()
	if err != nil {
		return who, head.String(), err
	}
	who, err = roster.Signer(key)
	if err != nil && who.Person == "" { // one that was revoked meanwhile may have signed this
		return who, head.String(), &VerifyError{Commit: head.String(), Reason: err}
	}
	return who, head.String(), nil
}
