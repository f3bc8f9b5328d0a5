package screen

import (
	"fmt"
	"strings"

	"github.com/charmbracelet/x/ansi"
)

// Records writes rows as a table where their columns fit, all but the last,
// which goes below; else each row as a paragraph that names its cells. In a
// pipe it is a table.
func (s *Screen) Records(header []string, rows [][]string) {
	used := 0
	for _, w := range columnWidths(header, rows)[:len(header)-1] {
		used += w + columnGap
	}
	if !s.terminal || used <= s.width {
		s.Table(header, rows)
		return
	}
	for _, row := range rows {
		var said []string
		for i, cell := range row[:len(row)-1] {
			if cell != "" {
				said = append(said, strings.ToLower(header[i])+" "+cell)
			}
		}
		s.hanging(s.bold(said[0]), strings.Join(said[1:], " · "))
		s.paragraph(s.Out, "    ", strings.ToLower(header[len(header)-1])+" "+row[len(row)-1])
	}
}

// hanging writes a head and what follows it, later lines indented.
func (s *Screen) hanging(head, text string) {
	lines := strings.Split(ansi.Wordwrap(s.ascii(text), s.width-4, ""), "\n")
	if ansi.StringWidth(head)+2+ansi.StringWidth(lines[0]) <= s.width && len(lines) == 1 {
		fmt.Fprintln(s.Out, head+"  "+lines[0])
		return
	}
	fmt.Fprintln(s.Out, head)
	for _, line := range lines {
		fmt.Fprintln(s.Out, "    "+line)
	}
}

// Columns is how wide a person's screen is.
func (s *Screen) Columns() int { return s.width }
