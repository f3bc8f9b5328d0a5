package terminal

import (
	"slices"
	"strings"

	"feedproof/schema"

	"github.com/charmbracelet/glamour"
	"github.com/charmbracelet/x/ansi"
)

// Tone is what a piece of a page means. It is drawn as a colour only where the
// words already say it.
type Tone int

// Tones. Colours are those of ISO 3864-4 and ANSI Z535, each with the ink that
// reads on it, so that they hold on light and dark terminals alike.
const (
	Plain Tone = iota
	Strong
	Faint
	Good    // green, safe condition
	Careful // yellow, caution
	Bad     // red, prohibition and fire
	Info    // blue, information
	Typed   // where something is typed
)

var inks = map[Tone]string{Strong: "1", Faint: "2", Good: "1;30;42", Careful: "1;30;43", Bad: "1;97;41", Info: "1;97;44", Typed: "7"}

// Span is a piece of a line.
type Span struct {
	Text string
	Tone Tone
	Wide bool // drawn with its letters apart, to be read from two metres
}

// Line is a line of a page. What does not fit goes on below, as far in as Hang.
type Line struct {
	Spans []Span
	Hang  int
	Bar   Tone // fills the line to its end
	Rule  bool // a line drawn across
}

// Text is a line of one piece.
func Text(text string) Line { return Line{Spans: []Span{{Text: text}}} }

// Toned is a line of one piece with a tone.
func Toned(text string, tone Tone) Line { return Line{Spans: []Span{{Text: text, Tone: tone}}} }

// Sheet is what a full screen shows: Top, Banner and Bottom stand still, Middle
// is cut to what fits, from the line Scroll on. Markdown comes below Middle. The
// banner is three lines high where there is room for it.
type Sheet struct {
	Top, Middle, Bottom []Line
	Banner              Line
	Markdown            string
	Scroll              int
	More                string // said where the middle goes on below
	Title               string // of the window
}

// Shape is the severity's shape: circle, dash, triangle, hollow circle, square,
// octagon.
func Shape(severity schema.Severity) string { return marks[severity].shape }

// ToneOf is the safety colour of a severity.
func ToneOf(severity schema.Severity) Tone {
	switch {
	case severity >= schema.Hold:
		return Bad
	case severity >= schema.Flag:
		return Careful
	case severity == schema.Note:
		return Info
	}
	return Good
}

// draw is the sheet as so many lines of so many columns. It says how far the
// middle can be scrolled.
func (s *Screen) draw(p Sheet, width, height int) (text string, furthest int) {
	top, bottom := s.lines(p.Top, width), s.lines(p.Bottom, width)
	banner := s.wrapped(p.Banner, width)
	if height >= roomy {
		band := s.wrapped(Line{Bar: p.Banner.Bar, Spans: []Span{{Text: " "}}}, width)
		banner = slices.Concat(band, banner, band)
	}
	top = slices.Concat(top, banner, []string{""})
	middle := append(s.lines(p.Middle, min(width, widest)), s.page(p.Markdown, width)...)
	room := max(height-len(top)-len(bottom), 1)
	furthest = max(len(middle)-room, 0)
	from := min(max(p.Scroll, 0), furthest)
	middle = middle[from:min(from+room, len(middle))]
	for len(middle) < room {
		middle = append(middle, "")
	}
	if from < furthest {
		middle[room-1] = s.inked(s.ascii(" ▼ "+p.More), Faint)
	}
	all := append(append(top, middle...), bottom...)
	return strings.Join(all[:min(len(all), max(height, 1))], "\n"), furthest
}

// roomy is how many rows a terminal needs for a high banner.
const roomy = 30

// page is Markdown as lines.
func (s *Screen) page(text string, width int) []string {
	if text == "" {
		return nil
	}
	if s.plain {
		return s.lines([]Line{Text(text)}, width)
	}
	drawn, err := render(text, glamour.WithStyles(pageStyle), min(width, widest))
	if err != nil {
		return s.lines([]Line{Text(text)}, width)
	}
	return strings.Split(strings.Trim(drawn, "\n"), "\n")
}

func (s *Screen) lines(lines []Line, width int) []string {
	var out []string
	for _, l := range lines {
		out = append(out, s.wrapped(l, width)...)
	}
	return out
}

// wrapped is a line in as many lines as it needs.
func (s *Screen) wrapped(l Line, width int) []string {
	if l.Rule {
		return []string{s.inked(s.ascii(strings.Repeat("─", width)), Faint)}
	}
	var b strings.Builder
	for _, span := range l.Spans {
		tone := span.Tone
		if tone == Plain {
			tone = l.Bar
		}
		text := s.ascii(span.Text)
		if span.Wide {
			text = apart(text)
		}
		for i, part := range strings.Split(text, "\n") {
			if i > 0 {
				b.WriteByte('\n')
			}
			b.WriteString(s.inked(part, tone))
		}
	}
	rows := strings.Split(hyphens.Replace(ansi.Wrap(unbroken.Replace(b.String()), width-l.Hang, "")), "\n")
	for i := range rows {
		if i > 0 {
			rows[i] = strings.Repeat(" ", l.Hang) + rows[i]
		}
		if gap := width - ansi.StringWidth(rows[i]); l.Bar != Plain && gap > 0 {
			rows[i] += s.inked(strings.Repeat(" ", gap), l.Bar)
		}
	}
	return rows
}

// apart sets the letters of words apart.
func apart(text string) string {
	words := strings.Fields(text)
	for i, word := range words {
		words[i] = strings.Join(strings.Split(word, ""), " ")
	}
	return strings.Join(words, "   ")
}

func (s *Screen) inked(text string, tone Tone) string {
	ink, ok := inks[tone]
	if !ok || !s.color || text == "" {
		return text
	}
	return "\x1b[" + ink + "m" + text + "\x1b[0m"
}
