package terminal

import (
	"fmt"
	"time"
)

// Trouble is a failure as a person reads it: the thing and what is wrong, then
// the command that mends it.
type Trouble struct {
	Text string `json:"error"`
	Fix  string `json:"fix,omitempty"`
	Exit int    `json:"exit"`
}

// Fail writes a failure beside the output.
func (s *Screen) Fail(t Trouble) {
	s.paragraph(s.Err, "", "feedproof: "+t.Text)
	if t.Fix != "" {
		s.paragraph(s.Err, "", "  try: "+t.Fix)
	}
}

// progressEvery is how often a long job says how far it is: one that takes
// less says nothing.
const progressEvery = 150 * time.Millisecond

// Progress shows how far a long job is, on a terminal alone. While nobody
// knows how much there is, total is 0.
func (s *Screen) Progress(what string) func(done, total int) {
	if !s.terminal {
		return nil
	}
	last, shown := time.Now(), false
	return func(done, total int) {
		switch {
		case done == total && shown:
			fmt.Fprint(s.raw.err, "\r\x1b[K")
		case done == total || time.Since(last) < progressEvery:
		case total == 0:
			last, shown = time.Now(), true
			fmt.Fprintf(s.raw.err, "\r\x1b[K%s %d", tame(what), done)
		default:
			last, shown = time.Now(), true
			fmt.Fprintf(s.raw.err, "\r\x1b[K%s %d of %d", tame(what), done, total)
		}
	}
}
