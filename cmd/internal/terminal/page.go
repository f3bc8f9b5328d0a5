package terminal

import (
	"slices"
	"strings"

	"feedproof/cmd/internal/guide"

	"github.com/charmbracelet/glamour"
	"github.com/charmbracelet/x/ansi"
)

// inks are the tones as SGR: the colours of ISO 3864-4 and ANSI Z535, each with
// the ink that reads on it, so that they hold on light and dark terminals alike.
var inks = map[guide.Tone]string{
	guide.Strong: "1", guide.Faint: "2", guide.Good: "1;30;42", guide.Careful: "1;30;43", guide.Bad: "1;97;41", guide.Info: "1;97;44", guide.Typed: "7",
}

// draw is the sheet as so many lines of so many columns. It says how far the
// middle can be scrolled.
func (s *Screen) draw(p guide.Page, width, height int) (text string, furthest int) {
	top, bottom := s.lines(p.Top, width), s.lines(p.Bottom, width)
	banner := s.wrapped(p.Banner, width)
	if height >= roomy {
		band := s.wrapped(guide.Line{Bar: p.Banner.Bar, Spans: []guide.Span{{Text: " "}}}, width)
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
		middle[room-1] = s.inked(s.ascii(" ▼ "+p.More), guide.Faint)
	}
	all := append(append(top, middle...), bottom...)
	return leaving(strings.Join(all[:min(len(all), max(height, 1))], "\n")), furthest
}

// roomy is how many rows a terminal needs for a high banner.
const roomy = 30

// page is Markdown as lines.
func (s *Screen) page(text string, width int) []string {
	if text == "" {
		return nil
	}
	if s.plain {
		return s.lines([]guide.Line{guide.Text(text)}, width)
	}
	drawn, err := render(text, glamour.WithStyles(pageStyle), min(width, widest))
	if err != nil {
		return s.lines([]guide.Line{guide.Text(text)}, width)
	}
	return strings.Split(strings.Trim(drawn, "\n"), "\n")
}

func (s *Screen) lines(lines []guide.Line, width int) []string {
	var out []string
	for _, l := range lines {
		out = append(out, s.wrapped(l, width)...)
	}
	return out
}

// wrapped is a line in as many lines as it needs.
func (s *Screen) wrapped(l guide.Line, width int) []string {
	if l.Rule {
		return []string{s.inked(s.ascii(strings.Repeat("─", width)), guide.Faint)}
	}
	var b strings.Builder
	for _, span := range l.Spans {
		tone := span.Tone
		if tone == guide.Plain {
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
		if gap := width - ansi.StringWidth(rows[i]); l.Bar != guide.Plain && gap > 0 {
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

func (s *Screen) inked(text string, tone guide.Tone) string {
	ink, ok := inks[tone]
	if !ok || !s.color || text == "" {
		return text
	}
	return colored(ink, text)
}
