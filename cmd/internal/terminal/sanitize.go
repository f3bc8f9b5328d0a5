package terminal

import (
	"fmt"
	"io"
	"math/rand/v2"
	"regexp"
	"strings"

	"feedproof/cmd/internal/visible"
)

// secret stands in the sequences of our own colours until they leave. It is another in every process, so nobody can have
// typed a text with a colour in it.
var secret = fmt.Sprintf("%019d", rand.Int64())

var (
	own = regexp.MustCompile("\x1b\\[" + secret + ";([0-9;]*)m")
	sgr = regexp.MustCompile("\x1b\\[([0-9;]*)m")
)

// colored is a text in a colour of ours.
func colored(color, text string) string {
	return "\x1b[" + secret + ";" + color + "m" + text + "\x1b[" + secret + ";0m"
}

// drawnByUs makes the colours in a drawing ours. What people typed was tamed before it was drawn.
func drawnByUs(text string) string { return sgr.ReplaceAllString(text, "\x1b["+secret+";${1}m") }

// tame makes a text visible, our own colours apart: a note that came from another machine must not steer the terminal.
func tame(text string) string {
	if !strings.Contains(text, secret) {
		return visible.Text(text)
	}
	var b strings.Builder
	from := 0
	for _, at := range own.FindAllStringIndex(text, -1) {
		b.WriteString(visible.Text(text[from:at[0]]))
		b.WriteString(text[at[0]:at[1]])
		from = at[1]
	}
	b.WriteString(visible.Text(text[from:]))
	return b.String()
}

// leaving is a text as the terminal gets it.
func leaving(text string) string { return own.ReplaceAllString(tame(text), "\x1b[${1}m") }

// outlet is where text leaves: whatever is written to it is tamed. A write is a whole text.
type outlet struct{ stream io.Writer }

func (o outlet) Write(text []byte) (int, error) {
	if _, err := io.WriteString(o.stream, leaving(string(text))); err != nil {
		return 0, err
	}
	return len(text), nil
}

// Outlet is a stream of which what is written is tamed, for text that goes past a [Screen].
func Outlet(stream io.Writer) io.Writer { return outlet{stream} }
