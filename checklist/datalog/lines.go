package datalog

import (
	"bytes"
	"errors"
	"io"
)

// Sizes of the reader: what it looks at to tell the dialect, and the longest
// row it keeps. A longer row is a bad row.
const (
	headBytes = 64 << 10
	bufBytes  = 256 << 10
	maxRow    = 128 << 10
	slack     = 16 // bytes that can be looked at behind any line
)

// lines cuts text into lines in one buffer of fixed size.
type lines struct {
	r     io.Reader
	buf   []byte
	start int // of what is not yet handed out
	end   int // of what was read
	err   error
	no    int // lines handed out
}

func newLines(r io.Reader) *lines {
	return &lines{r: r, buf: make([]byte, bufBytes, bufBytes+slack)}
}

// fill reads until n bytes stand in the buffer or the text ends.
func (l *lines) fill(n int) {
	if l.start > 0 {
		copy(l.buf, l.buf[l.start:l.end])
		l.end -= l.start
		l.start = 0
	}
	for l.err == nil && l.end < n {
		m, err := l.r.Read(l.buf[l.end:])
		l.end += m
		l.err = err
	}
}

// peek is the head of the text, at most [headBytes], without taking it.
func (l *lines) peek() []byte {
	l.fill(headBytes)
	return l.buf[l.start:min(l.end, l.start+headBytes)]
}

// next is the next line without its line end. It is valid until the following
// call. long says that the line was longer than [maxRow] and is cut.
func (l *lines) next() (line []byte, long, ok bool) {
	i := bytes.IndexByte(l.buf[l.start:l.end], '\n')
	if i < 0 {
		l.fill(maxRow)
		if l.start == l.end {
			return nil, false, false
		}
		i = bytes.IndexByte(l.buf[l.start:l.end], '\n')
	}
	l.no++
	if i < 0 && l.end-l.start >= maxRow {
		return l.cut(), true, true
	}
	if i < 0 {
		line = l.buf[l.start:l.end]
		clear(l.buf[l.end : l.end+slack])
		l.start = l.end
		return withoutReturn(line), false, true
	}
	line = l.buf[l.start : l.start+i]
	l.start += i + 1
	return withoutReturn(line), i > maxRow, true
}

// withoutReturn is a line without the first half of a CRLF.
func withoutReturn(line []byte) []byte {
	if last := len(line) - 1; last >= 0 && line[last] == '\r' {
		return line[:last]
	}
	return line
}

// cut drops the rest of a line that does not fit.
func (l *lines) cut() []byte {
	for {
		l.start = l.end
		l.fill(1)
		if l.start == l.end {
			return nil
		}
		if i := bytes.IndexByte(l.buf[l.start:l.end], '\n'); i >= 0 {
			l.start += i + 1
			return nil
		}
	}
}

// failed is the error that ended the text early, if it was one.
func (l *lines) failed() error {
	switch {
	case l.err == io.EOF:
		return nil
	case errors.Is(l.err, io.ErrUnexpectedEOF): // of what unpacks it
		return errors.New("the file ends too early: copy it again")
	}
	return l.err
}
