// Package terminal writes for people and pipes: findings with their shape, word
// and colour, tables, Markdown, JSON and errors.
//
// Start with [New]. On a terminal, and for a reader, text is wrapped, tables
// have a header and safety colours are used; in a pipe there is one line a row
// with tabs, no header and no colour. The word always stands beside the shape: colour alone
// never says anything. What is deliberately absent: facts about cars.
package terminal

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"

	"github.com/charmbracelet/x/ansi"
	"golang.org/x/term"
)

// Options say how to write when the streams cannot tell.
type Options struct {
	Plain   bool // no colour, no symbols beyond ASCII
	NoColor bool // the NO_COLOR convention
	Reader  bool // a person will read it, though it goes through a pipe
	JSON    bool // facts are asked for as JSON
}

// Screen is where a command writes. Out is for what was asked for, and Err for
// everything else. Asked for facts as JSON it says nothing in words, and gives
// one document at the end.
type Screen struct {
	Out, Err io.Writer // tame what is written
	raw      struct{ out, err io.Writer }
	terminal bool
	laid     bool // laid out for a person, not for a program
	color    bool
	plain    bool
	json     bool
	width    int
	answer   []byte // as JSON
}

// Widths of text in columns.
const (
	defaultWidth = 80
	widest       = 100 // longer lines are hard to read from the other side of a bay
)

// New looks at the streams: a terminal gets its width and colours.
func New(out, err io.Writer, o Options) *Screen {
	s := &Screen{Out: Outlet(out), Err: Outlet(err), plain: o.Plain, json: o.JSON, width: defaultWidth}
	s.raw.out, s.raw.err = out, err
	if f, ok := out.(*os.File); ok && term.IsTerminal(int(f.Fd())) {
		s.terminal = true
		if w, _, err := term.GetSize(int(f.Fd())); err == nil && w > 0 {
			s.width = min(w, widest)
		}
	}
	s.laid = s.terminal || o.Reader
	s.color = s.terminal && !o.Plain && !o.NoColor
	return s
}

// Terminal reports that a person is looking.
func (s *Screen) Terminal() bool { return s.laid }

// AsJSON reports that facts are asked for as JSON, and nothing else.
func (s *Screen) AsJSON() bool { return s.json }

// Say writes a paragraph, wrapped on a terminal, as far in as it begins.
func (s *Screen) Say(format string, args ...any) {
	if s.json {
		return
	}
	text := fmt.Sprintf(format, args...)
	flush := strings.TrimLeft(text, " ")
	s.paragraph(s.Out, text[:len(text)-len(flush)], flush)
}

// Head writes a heading line.
func (s *Screen) Head(format string, args ...any) {
	if s.json {
		return
	}
	text := tame(fmt.Sprintf(format, args...))
	if s.laid {
		text = wordwrap(text, s.width)
	}
	for line := range strings.Lines(text) {
		fmt.Fprintln(s.Out, s.bold(strings.TrimRight(line, "\n")))
	}
}

// Warn writes a paragraph beside the output.
func (s *Screen) Warn(format string, args ...any) {
	s.paragraph(s.Err, "", fmt.Sprintf(format, args...))
}

// paragraph writes text, its continuation lines indented.
func (s *Screen) paragraph(w io.Writer, indent, text string) {
	text = s.ascii(text)
	if !s.laid {
		fmt.Fprintln(w, indent+text)
		return
	}
	for _, line := range strings.Split(wordwrap(text, s.width-len(indent)), "\n") {
		fmt.Fprintln(w, indent+line)
	}
}

// wordwrap breaks text between words alone: a hyphen stands within options,
// dates and names, which are typed as they are read.
func wordwrap(text string, width int) string {
	return hyphens.Replace(ansi.Wordwrap(unbroken.Replace(text), width, ""))
}

// A hyphen at which a line is not broken, and one as it is typed.
var (
	unbroken = strings.NewReplacer("-", "\u2011")
	hyphens  = strings.NewReplacer("\u2011", "-")
)

// JSON keeps a value as the answer, indented, for [Screen.Answer] to write. A
// command has one: a second is an error.
func (s *Screen) JSON(v any) error {
	if s.answer != nil {
		return errors.New("the command answers with two JSON documents")
	}
	var text bytes.Buffer
	enc := json.NewEncoder(&text)
	enc.SetIndent("", "  ")
	enc.SetEscapeHTML(false)
	err := enc.Encode(v)
	s.answer = text.Bytes()
	return err
}

// Answer writes the answer that a command gave as JSON, if it gave one.
func (s *Screen) Answer() error {
	_, err := s.raw.out.Write(s.answer)
	return err
}

// Taken is the answer so far, of a command that then failed; there is none any
// more.
func (s *Screen) Taken() json.RawMessage {
	answer := s.answer
	s.answer = nil
	return answer
}

func (s *Screen) bold(text string) string {
	text = s.ascii(text)
	if !s.color {
		return text
	}
	return colored("1", text)
}

// plainText is what stands for the symbols of our own texts in ASCII.
var plainText = strings.NewReplacer("±", "+-", "·", "-", "–", "-", "²", "2", "µ", "u", "°", "deg ", "…", "...", "≤", "<=", "≥", ">=", "Δ", "d",
	"•", "*", "●", "o", "▲", "^", "▼", "v", "○", "?", "■", "#", "⯃", "X", "─", "-")

func (s *Screen) ascii(text string) string {
	text = tame(text)
	if !s.plain {
		return text
	}
	return plainText.Replace(text)
}
