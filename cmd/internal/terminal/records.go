package terminal

import (
	"fmt"
	"strings"

	"github.com/charmbracelet/x/ansi"
)

// Records writes rows as a table where their columns fit, all but the last,
// which goes below each; else each row as a paragraph that names its cells. In
// a pipe it is a table.
func (s *Screen) Records(header []string, rows [][]string) {
	if s.json {
		return
	}
	if !s.terminal {
		s.Table(header, rows)
		return
	}
	last := len(header) - 1
	widths := columnWidths(header, rows)
	used := 0
	for _, w := range widths[:last] {
		used += w + columnGap
	}
	fits := used-columnGap <= s.width
	if fits {
		s.columns(s.Out, widths, header[:last], true)
	}
	for _, row := range rows {
		if fits {
			s.columns(s.Out, widths, row[:last], false)
		} else {
			fmt.Fprintln(s.Out, s.bold(heading(header[0], row[0])))
			s.parts(named(header[1:last], row[1:last]))
		}
		if row[last] != "" {
			s.paragraph(s.Out, "    ", strings.ToLower(header[last])+" "+row[last])
		}
	}
}

// heading is the first cell over the others: a number needs its name.
func heading(name, cell string) string {
	if cell != "" && cell[0] >= '0' && cell[0] <= '9' {
		return strings.ToLower(name) + " " + cell
	}
	return cell
}

// named are cells with what they are called, blank ones left out.
func named(header, cells []string) []string {
	var said []string
	for i, cell := range cells {
		if cell != "" {
			said = append(said, strings.ToLower(header[i])+" "+cell)
		}
	}
	return said
}

// parts writes texts behind each other, each whole where it fits, so that a
// date or a number is not broken.
func (s *Screen) parts(texts []string) {
	line := ""
	for _, text := range texts {
		next := text
		if line != "" {
			next = line + " · " + text
		}
		if line != "" && ansi.StringWidth(next) > s.width-4 {
			s.paragraph(s.Out, "    ", line)
			next = text
		}
		line = next
	}
	s.paragraph(s.Out, "    ", line)
}

// Columns is how wide a person's screen is.
func (s *Screen) Columns() int { return s.width }
