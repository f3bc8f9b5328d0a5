package records

import (
	"errors"
	"fmt"
	"strings"

	"feedproof/schema"
)

// ErrBusy is matched by every *BusyError.
var ErrBusy = errors.New("another process is writing")

// ErrNothing says that a commit would add no entry.
var ErrNothing = errors.New("nothing to commit")

// BusyError says that another process kept the lock for longer than a writer waits.
type BusyError struct {
	What string // the lock, or the file that keeps git out
	Hint string
}

func (e *BusyError) Error() string {
	return strings.TrimSuffix(fmt.Sprintf("%s: another process is writing: %s", e.What, e.Hint), ": ")
}

// Is matches ErrBusy.
func (e *BusyError) Is(target error) bool { return target == ErrBusy }

// CopyError says that a shop is a copy for reading.
type CopyError struct{ Dir string }

func (e *CopyError) Error() string {
	return e.Dir + ": is a copy for reading: nothing is written into it"
}

// NotFoundError says that the shop has no such record.
type NotFoundError struct {
	Kind schema.RecordKind
	ID   string
}

func (e *NotFoundError) Error() string {
	return fmt.Sprintf("%s %s: is not in this shop", e.Kind, e.ID)
}

// NotShopError says that a folder is no shop.
type NotShopError struct{ Dir string }

func (e *NotShopError) Error() string {
	return fmt.Sprintf("%s: is not a shop, nor is a folder above it: make one with feedproof shop new", e.Dir)
}

// RefusedError says that the gate left findings open. Nothing was changed.
type RefusedError struct{ Findings []schema.Finding }

func (e *RefusedError) Error() string {
	keys := make([]string, len(e.Findings))
	for i, f := range e.Findings {
		keys[i] = fmt.Sprintf("%s %s", f.Severity, f.Name())
	}
	return "refused: " + strings.Join(keys, "; ")
}

// RoleError says that a person may not write an entry, or not with this key.
type RoleError struct {
	Person string
	Entry  string // id of the entry, empty when the key itself is refused
	Reason error
}

func (e *RoleError) Error() string {
	if e.Entry == "" {
		return e.Reason.Error()
	}
	return fmt.Sprintf("entry %s: %v", e.Entry, e.Reason)
}

func (e *RoleError) Unwrap() error { return e.Reason }

// ConflictError says that two entries have one id and different bytes: one of them was changed after it was written.
type ConflictError struct{ Entry string }

func (e *ConflictError) Error() string {
	return fmt.Sprintf("entry %s: has different bytes than the entry of that id in the record: entries are never edited, correct it with a new one", e.Entry)
}

// BrokenRefError says that the branch of the shop does not name a commit, as an interrupted write by another program leaves it. Reading on
// would silently show an older state.
type BrokenRefError struct {
	Ref  string
	Tips []string // commits that no other commit builds on: one of them was the last
}

func (e *BrokenRefError) Error() string {
	mend := "copy the shop again from a remote"
	if len(e.Tips) > 0 {
		mend = fmt.Sprintf("write the newest of these commits into it: %s", strings.Join(e.Tips, " "))
	}
	return fmt.Sprintf("%s: does not name a commit, so the last state is not known: %s", e.Ref, mend)
}

// DraftError says that a vehicle has entries that are not committed yet.
type DraftError struct {
	Vehicle string
	Entries int
}

func (e *DraftError) Error() string {
	return fmt.Sprintf("vehicle %s: %d entries are not committed yet: run feedproof commit first", e.Vehicle, e.Entries)
}
