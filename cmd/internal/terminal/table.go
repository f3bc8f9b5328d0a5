package terminal

import (
	"encoding/csv"
	"fmt"
	"io"
	"strings"

	"feedproof/cmd/internal/visible"

	"github.com/charmbracelet/x/ansi"
)

// Table writes rows in columns under a header, the last column wrapped; in a
// pipe each row is a line with tabs and there is no header.
func (s *Screen) Table(header []string, rows [][]string) {
	if s.json {
		return
	}
	if !s.laid {
		for _, row := range rows {
			s.row(row)
		}
		return
	}
	widths := columnWidths(header, rows)
	s.columns(s.Out, widths, header, true)
	for _, row := range rows {
		s.columns(s.Out, widths, row, false)
	}
}

// CSV writes rows as CSV, what people typed as text and never as a formula.
func (s *Screen) CSV(rows [][]string) error {
	w := csv.NewWriter(s.raw.out)
	for _, row := range rows {
		if err := w.Write(visible.Cells(row)); err != nil {
			return err
		}
	}
	w.Flush()
	return w.Error()
}

func (s *Screen) row(cells []string) {
	clean := make([]string, len(cells))
	for i, c := range cells {
		clean[i] = s.ascii(strings.Map(oneLine, c))
	}
	fmt.Fprintln(s.Out, strings.TrimRight(strings.Join(clean, "\t"), "\t"))
}

// oneLine keeps a cell from breaking its row.
func oneLine(r rune) rune {
	if r == '\n' || r == '\t' || r == '\r' {
		return ' '
	}
	return r
}

func columnWidths(header []string, rows [][]string) []int {
	widths := make([]int, len(header))
	for _, row := range append([][]string{header}, rows...) {
		for i, cell := range row {
			if i < len(widths) {
				widths[i] = max(widths[i], ansi.StringWidth(tame(cell)))
			}
		}
	}
	return widths
}

const columnGap = 2

// columns writes one row. What does not fit beside the other columns wraps in
// the last one, or goes below when there is hardly room.
func (s *Screen) columns(w io.Writer, widths []int, row []string, head bool) {
	used := 0
	var line strings.Builder
	last := len(row) - 1
	for i, cell := range row[:last] {
		cell = tame(cell)
		pad := widths[i] - ansi.StringWidth(cell) + columnGap
		if head {
			cell = s.bold(cell)
		}
		line.WriteString(s.ascii(cell) + strings.Repeat(" ", max(pad, 1)))
		used += widths[i] + columnGap
	}
	rest := row[last]
	if head {
		rest = s.bold(rest)
	}
	room := s.width - used
	if room < min(minColumn, widths[last]) {
		fmt.Fprintln(w, strings.TrimRight(line.String(), " "))
		if row[last] != "" && !head {
			s.paragraph(w, "    ", rest)
		}
		return
	}
	wrapped := strings.Split(wordwrap(s.ascii(rest), room), "\n")
	fmt.Fprintln(w, strings.TrimRight(line.String()+wrapped[0], " "))
	for _, more := range wrapped[1:] {
		fmt.Fprintln(w, strings.Repeat(" ", used)+more)
	}
}

const minColumn = 16
