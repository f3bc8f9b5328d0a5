package records

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"path"
	"strings"

	"feedproof/schema"

	"github.com/go-git/go-git/v5/plumbing"
	"github.com/go-git/go-git/v5/plumbing/storer"
)

// maxIncoming is how many commits are judged at once. No honest exchange comes near it.
const maxIncoming = 500_000

// judged is what came in, told apart. A commit that builds on a bad one is bad too, so that what is good can be merged by itself.
type judged struct {
	good []plumbing.Hash // parents before children
	tips []plumbing.Hash // the good commits that no other good one builds on
	bad  map[plumbing.Hash]*VerifyError
	kept []plumbing.Hash // the bad commits, parents before children
}

// first is the fault of the first bad commit.
func (j judged) first() error { return j.bad[j.kept[0]] }

// judge checks the commits that lead to tips and not to the shop's branch, each against its parents. The store must hold the shop's objects
// beside the incoming ones; nothing is written.
func (s *Shop) judge(ctx context.Context, store storer.EncodedObjectStorer, tips []plumbing.Hash, progress func(done, total int)) (judged, error) {
	head, err := s.head()
	if err != nil {
		return judged{}, err
	}
	return s.judgeBeside(ctx, store, []plumbing.Hash{head}, tips, progress)
}

// judgeBeside is judge for what a machine has; one that joins has nothing.
func (s *Shop) judgeBeside(ctx context.Context, store storer.EncodedObjectStorer, have, tips []plumbing.Hash, progress func(done, total int)) (judged, error) {
	found := judged{bad: map[plumbing.Hash]*VerifyError{}}
	l, err := apart(store, have, tips)
	if err != nil {
		return found, err
	}
	order := l.own(theirSide, tips...)
	if len(order) > maxIncoming {
		return found, fmt.Errorf("remote: offers %d commits at once, more than %d", len(order), maxIncoming)
	}
	v := newVerifier(store, s.device.Pinned)
	v.strict = true
	if v.pinned == "" && len(have) > 0 {
		if v.pinned, err = s.firstKey(); err != nil {
			return found, err
		}
	}
	if len(have) > 0 && len(order) > 0 {
		if v.ids, err = s.indexed(); err != nil {
			return found, err
		}
	}
	for i, hash := range order {
		if err := ctx.Err(); err != nil {
			return found, err
		}
		if err := s.judgeOne(v, l, hash, len(have) > 0, found.bad); err != nil {
			found.bad[hash] = err
		}
		if progress != nil {
			progress(i+1, len(order))
		}
	}
	if len(have) > 0 {
		err = s.distrustRevoked(v, l, order, found.bad)
	}
	found.sort(l, order)
	return found, err
}

// judgeOne checks a commit whose parents have been judged.
func (s *Shop) judgeOne(v *verifier, l lines, hash plumbing.Hash, begun bool, bad map[plumbing.Hash]*VerifyError) *VerifyError {
	c := l.commits[hash]
	if c == nil {
		return &VerifyError{Commit: hash.String(), Reason: errors.New("is promised, and cannot be read there")}
	}
	for _, p := range c.ParentHashes {
		if fault := bad[p]; fault != nil {
			return &VerifyError{Commit: hash.String(), Reason: fmt.Errorf("builds on commit %s, which was not taken", p), follows: fault}
		}
	}
	if len(c.ParentHashes) == 0 && begun {
		if err := s.checkOwnRoot(hash); err != nil {
			return &VerifyError{Commit: hash.String(), Reason: err}
		}
	}
	err := v.commit(hash)
	fault := &VerifyError{Commit: hash.String(), Reason: err}
	if err == nil {
		return nil
	}
	_ = errors.As(err, &fault)
	return fault
}

// checkOwnRoot refuses a history that begins elsewhere than the shop's.
func (s *Shop) checkOwnRoot(root plumbing.Hash) error {
	head, err := s.head()
	if err != nil {
		return err
	}
	order, err := ancestry(s.store, head, everything)
	if err == nil && order[0] != root {
		err = errOtherShop
	}
	return err
}

// distrustRevoked sets aside what a revoked key signed that only now comes in, unless somebody else has built on it since: nobody can tell
// when it was made, and a key is revoked for a reason. What reached another machine before the revocation did is vouched for by the person
// who merged it there.
func (s *Shop) distrustRevoked(v *verifier, l lines, order []plumbing.Hash, bad map[plumbing.Hash]*VerifyError) error {
	roster, err := s.Roster()
	if err != nil {
		return err
	}
	vouched := map[plumbing.Hash]bool{}
	for i := len(order) - 1; i >= 0; i-- {
		hash := order[i]
		if bad[hash] != nil {
			continue
		}
		signer, err := roster.Signer(v.keys[hash])
		known := signer.Person != ""
		if err != nil && known && !vouched[hash] {
			bad[hash] = &VerifyError{Commit: hash.String(), Person: signer.Person, Reason: fmt.Errorf("%w, and this only came in now", err)}
			continue
		}
		for _, p := range l.commits[hash].ParentHashes {
			vouched[p] = true
		}
	}
	return nil
}

// sort tells good from bad.
func (j *judged) sort(l lines, order []plumbing.Hash) {
	inner := map[plumbing.Hash]bool{}
	for _, hash := range order {
		if j.bad[hash] != nil {
			j.kept = append(j.kept, hash)
			continue
		}
		j.good = append(j.good, hash)
		for _, p := range l.commits[hash].ParentHashes {
			inner[p] = true
		}
	}
	for _, hash := range j.good {
		if !inner[hash] {
			j.tips = append(j.tips, hash)
		}
	}
}

// checkName refuses a new file whose name differs from another's in case alone: an ordinary clone on some systems would lose one of the
// two. A file that a merge takes from one of its sides stays: two bays may have chosen alike names, and nothing is lost for that.
func (v *verifier) checkName(root plumbing.Hash, f *changed) error {
	for _, old := range f.before {
		if !old.Hash.IsZero() {
			return nil
		}
	}
	if f.kept {
		return nil
	}
	dir, name := path.Split(f.path)
	folder := root
	if dir != "" {
		entry, err := snapshot{store: v.store, root: root}.lookup(path.Clean(dir))
		if err != nil {
			return err
		}
		folder = entry.Hash
	}
	tree, err := readTree(v.store, folder)
	if err != nil {
		return err
	}
	for _, e := range tree.Entries {
		if e.Name != name && strings.EqualFold(e.Name, name) {
			return fmt.Errorf("differs from %s in case alone", dir+e.Name)
		}
	}
	return nil
}

// checkForm holds what comes in to what this program writes: a record of a known version stands as it is encoded, and each new entry fits
// its schema. A file of a newer version would make the shop unreadable to every machine that does not know it, so none comes in.
func (v *verifier) checkForm(f *changed, before, after schema.Record) error {
	if after.Version > schema.MaxVersion {
		return fmt.Errorf("is of version %d, and this program knows %d: renew the program, or let whoever wrote it write it in version %[2]d", after.Version, schema.MaxVersion)
	}
	content, err := readBlob(v.store, f.after.Hash)
	if err != nil {
		return err
	}
	if !bytes.Equal(content, after.With().Encode()) {
		return errors.New("is not in the form that is written: one entry a line, in canonical form")
	}
	return schema.NewRecord(after.Kind, after.ID).With(beyond(before, after)...).ValidateKnown()
}

// beyond lists the entries of a record that an older state of it does not have.
func beyond(before, after schema.Record) []schema.Entry {
	old := make(map[string]bool, len(before.Entries))
	for _, e := range before.Entries {
		old[e.ID] = true
	}
	var fresh []schema.Entry
	for _, e := range after.Entries {
		if !old[e.ID] {
			fresh = append(fresh, e)
		}
	}
	return fresh
}
