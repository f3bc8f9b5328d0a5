package terminal

import (
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"

	"feedproof/cmd/internal/facts"
	"feedproof/schema"
)

// mark is how a severity looks and what it is called on the floor.
type mark struct {
	plain string // in ASCII
	word  string
	color string // SGR: safety colours of ISO 3864-4 and ANSI Z535, as near as a terminal has them
}

// Safety colours: green safe condition, yellow caution, red prohibition and
// fire, blue information. Yellow stands under black letters, as on a sign: as
// ink it does not read on a light terminal.
const (
	green  = "32"
	yellow = "30;43"
	red    = "31"
	inRed  = "97;41" // white on red, as on a stop sign
	blue   = "34"
)

var marks = map[schema.Severity]mark{
	schema.OK:       {"o", "In order", green},
	schema.Note:     {"-", "For information", blue},
	schema.Flag:     {"^", "Look at this", yellow},
	schema.Unproven: {"?", "Not proven", yellow},
	schema.Hold:     {"#", "Can't leave yet", red},
	schema.Block:    {"X", "Will not leave like this", red},
	schema.Stop:     {"X", "Stop now", inRed},
}

// Mark is the severity as shape, floor words and word: "■ Can't leave yet (HOLD)".
func (s *Screen) Mark(severity schema.Severity) string {
	m := marks[severity]
	return s.paint(m, fmt.Sprintf("%s %s (%s)", s.shape(severity), m.word, severity))
}

// Short is the severity as shape and word alone, for tables.
func (s *Screen) Short(severity schema.Severity) string {
	m := marks[severity]
	return s.paint(m, s.shape(severity)+" "+severity.String())
}

func (s *Screen) shape(severity schema.Severity) string {
	if s.plain {
		return marks[severity].plain
	}
	return facts.Shape(severity)
}

func (s *Screen) paint(m mark, text string) string {
	if !s.color {
		return text
	}
	return colored(m.color, text)
}

// Findings writes each finding: the mark, what was measured, its limit, what
// it means and what to do next. In a pipe each is one line with tabs.
func (s *Screen) Findings(found []schema.Finding) {
	if s.json {
		return
	}
	for _, f := range found {
		if s.laid {
			s.finding(f)
		} else {
			s.row(append([]string{s.Short(f.Severity), f.Rule, f.About, f.Measured, "limit " + f.Limit}, advice(f)...))
		}
	}
}

func (s *Screen) finding(f schema.Finding) {
	title := fmt.Sprintf("%s  %s %s", s.Mark(f.Severity), f.Rule, f.About)
	if a := answered(f); a != "" {
		title += ", " + a
	}
	s.paragraph(s.Out, "", title)
	s.paragraph(s.Out, "    ", sentence(f))
	if f.Next != "" && stands(f) {
		s.paragraph(s.Out, "    ", "Next: "+ended(f.Next))
	}
}

// ended is a sentence with its full stop, unless it ends as a question.
func ended(text string) string {
	if strings.HasSuffix(text, "?") {
		return text
	}
	return text + "."
}

// stands reports that the finding asks for something: what is in order or
// answered does not.
func stands(f schema.Finding) bool { return f.Severity > schema.Note && f.Answered == "" }

// advice is what a finding means and what to do, or that it is answered.
func advice(f schema.Finding) []string {
	if !stands(f) {
		return []string{answered(f)}
	}
	return []string{f.Means, f.Next}
}

// sentence says what was measured, the limit and what it means.
func sentence(f schema.Finding) string {
	text := f.Measured
	if f.Limit != "" {
		text += " (limit " + f.Limit + ")"
	}
	if f.Means != "" && f.Severity > schema.OK {
		text += ": " + f.Means
	}
	return capital(text) + "."
}

func capital(text string) string {
	first, size := utf8.DecodeRuneInString(text)
	if size == 0 || first == 'µ' {
		return text
	}
	return string(unicode.ToUpper(first)) + text[size:]
}

func answered(f schema.Finding) string {
	if f.Answered == "" {
		return ""
	}
	return "answered"
}
