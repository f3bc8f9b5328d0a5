package records

import (
	"errors"
	"fmt"

	"feedproof/records/signature"
	"feedproof/schema"

	"github.com/go-git/go-git/v5/plumbing"
)

// arrival checks the entries that a commit brings into a record for what they say of themselves: whose they are, and what their writers had
// seen. Its cost is linear in the record and the commits between an entry and the commit that it stands on.
type arrival struct {
	proofs *proofs
	hashes schema.Hashes    // of the record, as far as it is known
	stands []plumbing.Hash  // the parents of the commit; none for the first of a shop
	own    signature.Roster // of the first commit
}

// entryError is what is wrong with one entry.
type entryError struct {
	entry  string
	reason error
}

func (e *entryError) Error() string { return fmt.Sprintf("entry %s: %v", e.entry, e.reason) }
func (e *entryError) Unwrap() error { return e.reason }

// check holds new entries of a record, as it is with them, to all of it; the first fault is an *entryError. It gives back where a machine
// wrote two lines, which is no fault.
func (a arrival) check(after schema.Record, fresh []schema.Entry) (forks []schema.SightFault, err error) {
	isNew := make(map[string]bool, len(fresh))
	for _, e := range fresh {
		isNew[e.ID] = true
	}
	for _, f := range schema.NewSight(after.Entries).Faults() {
		switch {
		case !isNew[f.Entry]:
		case f.Fork:
			forks = append(forks, f)
		default:
			return nil, &entryError{f.Entry, errors.New(f.Reason)}
		}
	}
	for _, e := range after.Entries {
		a.hashes.Add(e)
	}
	if err := a.checkPlaces(fresh); err != nil {
		return nil, err
	}
	return forks, a.checkAuthors(fresh)
}

// checkPlaces holds entries to the commits that their writers had seen, and to their clocks.
func (a arrival) checkPlaces(fresh []schema.Entry) error {
	known := map[string]error{}
	for _, e := range fresh {
		if e.At.After(e.Entered.Add(clockDoubt)) {
			return &entryError{e.ID, fmt.Errorf("happens at %s, after it was typed at %s", e.At, e.Entered)}
		}
		err, asked := known[e.Head]
		if !asked {
			err = a.checkHead(e.Head)
			known[e.Head] = err
		}
		if err != nil {
			return &entryError{e.ID, err}
		}
	}
	return nil
}

// checkHead holds the commit that a writer had seen to those that lead to the commit that brings the entry.
func (a arrival) checkHead(head string) error {
	if len(a.stands) == 0 {
		if head != "" {
			return fmt.Errorf("stands on commit %s, and is in the first", head)
		}
		return nil
	}
	if head == "" {
		return errors.New("names no commit that its author had seen")
	}
	if !a.proofs.has(plumbing.NewHash(head)) {
		return fmt.Errorf("stands on commit %s, which is not in this shop", head)
	}
	for _, parent := range a.stands {
		if there, err := a.proofs.standsOn(parent, plumbing.NewHash(head)); there || err != nil {
			return err
		}
	}
	return fmt.Errorf("stands on commit %s, which does not lead to this one", head)
}

// checkAuthors holds each entry to its signature.
func (a arrival) checkAuthors(fresh []schema.Entry) error {
	faults := make([]error, len(fresh))
	each(len(fresh), func(i int) {
		if len(a.stands) == 0 {
			_, faults[i] = authoredBy(a.own, a.hashes, fresh[i])
			return
		}
		_, faults[i] = a.proofs.authored(a.hashes, fresh[i])
	})
	for i, fault := range faults {
		if fault != nil {
			return &entryError{fresh[i].ID, fault}
		}
	}
	return nil
}
