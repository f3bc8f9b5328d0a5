package datalog

import (
	"bufio"
	"io"
	"unicode/utf16"
	"unicode/utf8"
)

// utf16Reader turns UTF-16 into UTF-8. A surrogate without its other half and
// an odd byte at the end become U+FFFD.
type utf16Reader struct {
	r         *bufio.Reader
	bigEndian bool
	pending   []byte
	buf       [4 * 1024]byte
}

func (u *utf16Reader) Read(p []byte) (int, error) {
	if len(u.pending) == 0 {
		u.pending = u.buf[:0]
		for len(u.pending) < len(u.buf)-utf8.UTFMax {
			c, err := u.next()
			if err != nil {
				if len(u.pending) > 0 && err == io.EOF {
					break
				}
				return 0, err
			}
			u.pending = utf8.AppendRune(u.pending, c)
		}
	}
	n := copy(p, u.pending)
	u.pending = u.pending[n:]
	return n, nil
}

func (u *utf16Reader) next() (rune, error) {
	a, err := u.unit()
	if err != nil || !utf16.IsSurrogate(a) {
		return a, err
	}
	next, err := u.r.Peek(2)
	if err != nil {
		return utf8.RuneError, nil
	}
	if c := utf16.DecodeRune(a, u.join(next[0], next[1])); c != utf8.RuneError {
		_, _ = u.r.Discard(2)
		return c, nil
	}
	return utf8.RuneError, nil
}

func (u *utf16Reader) unit() (rune, error) {
	a, err := u.r.ReadByte()
	if err != nil {
		return 0, err
	}
	b, err := u.r.ReadByte()
	if err == io.EOF {
		return utf8.RuneError, nil
	}
	return u.join(a, b), err
}

func (u *utf16Reader) join(a, b byte) rune {
	if u.bigEndian {
		return rune(a)<<8 | rune(b)
	}
	return rune(b)<<8 | rune(a)
}

// textOf is the text of a name or unit: UTF-8, or else Latin-1 (ISO 8859-1),
// in which each byte is the code point of the same number.
func textOf(cell []byte) string {
	if utf8.Valid(cell) {
		return string(cell)
	}
	runes := make([]rune, len(cell))
	for i, b := range cell {
		runes[i] = rune(b)
	}
	return string(runes)
}
