package screen

import "fmt"

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

// Progress shows how far a long job is, on a terminal alone.
func (s *Screen) Progress(what string) func(done, total int) {
	if !s.terminal {
		return nil
	}
	return func(done, total int) {
		fmt.Fprintf(s.Err, "\r%s %d of %d", what, done, total)
		if done == total {
			fmt.Fprint(s.Err, "\r\x1b[K")
		}
	}
}
