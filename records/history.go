package records

import (
	"slices"
	"time"

	"feedproof/records/signature"
	"feedproof/schema"

	"github.com/go-git/go-git/v5/plumbing"
	"github.com/go-git/go-git/v5/plumbing/object"
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

// History lists the commits that changed a record, parents before children. A missing record is a *NotFoundError.
func (s *Shop) History(kind schema.RecordKind, id string) ([]Change, error) {
	p, err := recordPath(kind, id)
	if err != nil {
		return nil, err
	}
	head, err := s.head()
	if err != nil {
		return nil, err
	}
	blobs := map[plumbing.Hash]plumbing.Hash{} // the record in each commit that has it
	order, err := ancestry(s.store, head, func(c *object.Commit) (bool, error) {
		entry, err := snapshot{store: s.store, root: c.TreeHash}.lookup(p)
		blobs[c.Hash] = entry.Hash
		return !entry.Hash.IsZero(), err
	})
	if err != nil {
		return nil, err
	}
	if len(order) == 0 {
		return nil, &NotFoundError{Kind: kind, ID: id}
	}
	return s.changes(p, order, blobs)
}

func (s *Shop) changes(p string, order []plumbing.Hash, blobs map[plumbing.Hash]plumbing.Hash) ([]Change, error) {
	roster, err := s.Roster()
	if err != nil {
		return nil, err
	}
	var all []Change
	for _, hash := range order {
		c, err := readCommit(s.store, hash)
		if err != nil {
			return nil, err
		}
		if sameAsAParent(c, blobs) {
			continue
		}
		entries, err := s.addedBy(c, p, blobs)
		if err != nil {
			return nil, err
		}
		all = append(all, describe(c, entries, roster))
	}
	return all, nil
}

// sameAsAParent reports that the record came through a commit as it was in one of its parents.
func sameAsAParent(c *object.Commit, blobs map[plumbing.Hash]plumbing.Hash) bool {
	return slices.ContainsFunc(c.ParentHashes, func(parent plumbing.Hash) bool { return blobs[parent] == blobs[c.Hash] })
}

// addedBy is the entries of a commit's record that none of its parents has.
func (s *Shop) addedBy(c *object.Commit, p string, blobs map[plumbing.Hash]plumbing.Hash) ([]schema.Entry, error) {
	after, err := snapshot{store: s.store}.anyRecordBlob(p, blobs[c.Hash])
	if err != nil {
		return nil, err
	}
	var old schema.Record
	for _, parent := range c.ParentHashes {
		if blobs[parent].IsZero() {
			continue
		}
		before, err := snapshot{store: s.store}.anyRecordBlob(p, blobs[parent])
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
