package desk

import (
	"errors"
	"fmt"
	"io/fs"
	"strings"
	"syscall"

	"feedproof/records"
	"feedproof/schema"
)

// Kind is of which sort a failure is.
type Kind int

// Kinds of failure.
const (
	Failed    Kind = iota // it did not work out
	Usage                 // a mistake in what was asked
	Refused               // findings or a role stand in the way
	NotProven             // history or a signature does not verify
	Busy                  // another process is writing
)

// Error is a failure that knows what mends it.
type Error struct {
	Thing string           // what it is about; empty where the words name it
	Wrong string           // what is wrong with it
	Mend  string           // the command that mends it, or what to do
	Kind  Kind             // of which sort it is
	Found []schema.Finding // what stands in the way
	Cause error            // what was known below, if anything
}

func (e *Error) Error() string {
	if e.Thing == "" {
		return e.Wrong
	}
	return e.Thing + ": " + e.Wrong
}

func (e *Error) Unwrap() error { return e.Cause }

func usage(mend, thing, format string, args ...any) error {
	return &Error{Thing: thing, Wrong: fmt.Sprintf(format, args...), Mend: mend, Kind: Usage}
}

func failed(mend, thing, format string, args ...any) error {
	return &Error{Thing: thing, Wrong: fmt.Sprintf(format, args...), Mend: mend}
}

// Explain makes an [*Error] of any error that a desk, or what is below it, gives.
func Explain(err error) *Error {
	var own *Error
	if errors.As(err, &own) {
		return &Error{Wrong: err.Error(), Mend: own.Mend, Kind: own.Kind, Found: own.Found, Cause: err}
	}
	e := &Error{Wrong: err.Error(), Cause: err}
	e.know(err)
	return e
}

// know adds what is known of an error of the layers below.
func (e *Error) know(err error) {
	var gate *records.RefusedError
	var role *records.RoleError
	var broken *records.VerifyError
	var invalid *schema.InvalidError
	var key *records.WrongKeyError
	var remote *records.RemoteError
	switch {
	case errors.As(err, &gate):
		e.Wrong, e.Kind, e.Found = "refused", Refused, gate.Findings
	case errors.As(err, &role):
		e.Kind = Refused
	case errors.As(err, &broken):
		e.Kind = NotProven
	case errors.As(err, &invalid):
		e.Wrong, e.Kind = strings.Join(plainProblems(invalid.Problems), "; "), Usage
	case errors.As(err, &key):
		e.Mend, e.Kind = "do not go on: ask a lead for the fingerprint (feedproof verify shows it), and how this remote came by another", NotProven
	case errors.As(err, &remote):
		e.Mend = remote.Fix
	case errors.Is(err, records.ErrBusy):
		e.Kind = Busy
	case errors.Is(err, fs.ErrPermission):
		e.Mend = "ls -ld the folder: nothing was written; make it writable for this user, or copy the shop to a disk that is"
	case errors.Is(err, syscall.ENOSPC):
		e.Mend = "df -h the folder: what was acknowledged before is safe, this was not recorded; free some space, then type it again"
	}
}

// plainProblems are what is wrong, without the ids of entries that were never
// written.
func plainProblems(problems []schema.Problem) []string {
	out := make([]string, len(problems))
	for i, p := range problems {
		out[i] = p.What
	}
	return out
}
