package terminal

import (
	"errors"
	"fmt"
	"io"
	"os"

	"golang.org/x/term"
)

// ErrNoTerminal says that nobody is there to be asked.
var ErrNoTerminal = errors.New("cannot be asked for without a terminal")

// Secret asks for a secret on the terminal without showing it.
//
// Errors: [ErrNoTerminal] when in is not a terminal.
func (s *Screen) Secret(in io.Reader, what string) ([]byte, error) {
	if !isTerminal(in) {
		return nil, ErrNoTerminal
	}
	f := in.(*os.File)
	fmt.Fprintf(s.Err, "%s: ", what)
	secret, err := term.ReadPassword(int(f.Fd()))
	fmt.Fprintln(s.Err)
	return secret, err
}

func isTerminal(stream any) bool {
	f, ok := stream.(*os.File)
	return ok && term.IsTerminal(int(f.Fd()))
}
