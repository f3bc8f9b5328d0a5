package datalog

import (
	"bytes"
	"fmt"
)

// delimiters that are tried, the least ambiguous first.
var delimiters = [...]byte{'\t', ';', ',', '|'}

// maxColumns bounds a header; more is not a log of an engine.
const maxColumns = 4096

// table is where the header of a log stands and how its rows are cut.
type table struct {
	delim  byte
	header int // line index of the header, from 0
	units  int // of the unit row, or -1
	data   int // of the first row
	names  [][]byte
	unit   [][]byte
}

// sniff finds the table in the head of a text: the first two rows in a row
// that are mostly numbers, cut by the same delimiter into the same number of
// columns, and the row of names above them.
func sniff(head []byte) (table, error) {
	lines := headLines(head)
	best, bestRows := table{}, 0
	var reason error
	for _, delim := range delimiters {
		t, rows, err := findTable(lines, delim)
		if err != nil {
			reason = better(reason, err)
			continue
		}
		if rows > bestRows {
			best, bestRows = t, rows
		}
	}
	if bestRows == 0 {
		return table{}, reason
	}
	return best, nil
}

// better keeps the more telling of two reasons.
func better(old, err error) error {
	if old == nil || err != errNoRows {
		return err
	}
	return old
}

var errNoRows = fmt.Errorf("log: no rows of numbers in its first %d kB: export it as delimited text with a header row", headBytes>>10)

func headLines(head []byte) [][]byte {
	all := bytes.Split(head, []byte{'\n'})
	if len(all) > 1 {
		all = all[:len(all)-1] // empty, or cut off by the end of the head
	}
	for i := range all {
		all[i] = withoutReturn(all[i])
	}
	return all
}

// findTable finds the table for one delimiter, and how many rows of it the
// head shows weighed by their width, so that the delimiter that explains more
// of the text wins.
func findTable(lines [][]byte, delim byte) (table, int, error) {
	cells := make([][][]byte, len(lines))
	for i, line := range lines {
		cells[i] = splitCells(line, delim)
	}
	t, err := firstTable(cells, delim)
	if err != nil {
		return table{}, 0, err
	}
	rows := 0
	for _, c := range cells[t.data:] {
		if mostlyNumbers(c) && len(trimEmpty(c)) <= len(t.names) {
			rows += len(t.names)
		}
	}
	return t, rows, nil
}

// run is rows of numbers of one width with nothing but blank lines and
// comments between them.
type run struct{ first, rows, width int }

func runsOf(cells [][][]byte) (all []run, longest run) {
	var now run
	for i, c := range cells {
		switch {
		case blankLine(c) || len(c[0]) > 0 && c[0][0] == '#':
			continue
		case len(c) < 2 || !mostlyNumbers(c):
			now = run{}
			continue
		case now.rows == 0 || len(c) != now.width:
			now = run{i, 0, len(c)}
			all = append(all, now)
		}
		now.rows++
		all[len(all)-1] = now
		if now.rows > longest.rows {
			longest = now
		}
	}
	return all, longest
}

// firstTable is the first run of the width of the longest that has a header:
// metadata before it has another width or no header, and a header that is
// repeated further down starts no new table.
func firstTable(cells [][][]byte, delim byte) (table, error) {
	all, longest := runsOf(cells)
	if longest.rows == 0 {
		return table{}, errNoRows
	}
	if longest.width > maxColumns {
		return table{}, fmt.Errorf("log: %d columns, more than %d: export fewer channels", longest.width, maxColumns)
	}
	var reason error
	for _, r := range all {
		if r.width != longest.width {
			continue
		}
		t := table{delim: delim, data: r.first, units: -1}
		err := t.findHeader(cells, r.width)
		if err == nil {
			return t, nil
		}
		if reason == nil {
			reason = err
		}
	}
	return table{}, reason
}

// findHeader looks upwards from the first row for the rows of text of its
// width: the uppermost that names most columns is the header, and the row
// below it holds the units.
func (t *table) findHeader(cells [][][]byte, width int) error {
	t.header = -1
	for i := t.data - 1; i >= 0; i-- {
		c := cells[i]
		if blankLine(c) {
			continue
		}
		if !fits(c, width) || mostlyNumbers(c) || filled(c) < 0.6 {
			break
		}
		if t.header >= 0 {
			t.units = t.header
		}
		t.header = i
	}
	if t.header < 0 {
		return fmt.Errorf("log: no header row above the numbers on line %d: name the columns in a row of %d cells", t.data+1, width)
	}
	t.names = trimEmpty(cells[t.header])
	t.names[0] = bytes.TrimLeft(t.names[0], "#% ")
	if t.units >= 0 {
		t.unit = cells[t.units]
	}
	return nil
}

// fits allows for the delimiter that some loggers put at the end of a row.
func fits(c [][]byte, width int) bool {
	n := len(trimEmpty(c))
	return n > 1 && (len(c) == width || n == width || len(c) == width-1 || len(c) == width+1)
}

func trimEmpty(c [][]byte) [][]byte {
	for len(c) > 0 && len(bytes.TrimSpace(c[len(c)-1])) == 0 {
		c = c[:len(c)-1]
	}
	return c
}

func blankLine(c [][]byte) bool { return len(trimEmpty(c)) == 0 }

func filled(c [][]byte) float64 {
	n := 0
	for _, cell := range c {
		if len(bytes.TrimSpace(cell)) > 0 {
			n++
		}
	}
	return float64(n) / float64(len(c))
}

// mostlyNumbers reports that half or more of the cells that hold something
// hold a number or a time.
func mostlyNumbers(c [][]byte) bool {
	numbers, texts := 0, 0
	for _, cell := range c {
		cell = bytes.TrimSpace(cell)
		if noValue(cell) {
			continue
		}
		if _, ok := cellNumber(cell); ok || isTime(cell) {
			numbers++
		} else {
			texts++
		}
		if 2*numbers >= len(c) {
			return true // whatever the others are
		}
	}
	return numbers > 0 && numbers >= texts
}

func isTime(cell []byte) bool {
	if len(cell) > 40 || cell[0] < '0' || cell[0] > '9' {
		return false
	}
	_, ok := new(clock).seconds(string(cell))
	return ok
}

// splitCells cuts a line into cells, taking quotes off as RFC 4180 has them: a
// quoted cell may hold the delimiter, and a doubled quote is one quote.
func splitCells(line []byte, delim byte) [][]byte {
	return appendCells(make([][]byte, 0, bytes.Count(line, []byte{delim})+1), line, delim)
}

func appendCells(cells [][]byte, line []byte, delim byte) [][]byte {
	for {
		if len(line) > 0 && line[0] == '"' {
			cell, rest := quotedCell(line, delim)
			cells = append(cells, cell)
			if rest == nil {
				return cells
			}
			line = rest
			continue
		}
		i := bytes.IndexByte(line, delim)
		if i < 0 {
			return append(cells, line)
		}
		cells = append(cells, line[:i])
		line = line[i+1:]
	}
}

// quotedCell is the cell that starts with a quote, and the rest of the line
// after its delimiter, or nil. What stands between the closing quote and the
// delimiter is kept as it is.
func quotedCell(line []byte, delim byte) (cell, rest []byte) {
	s := line[1:]
	if i := bytes.IndexByte(s, '"'); i >= 0 && i+1 < len(s) && s[i+1] == delim {
		return s[:i], s[i+2:] // as almost all are; the rest is put together
	}
	var out []byte
	for {
		i := bytes.IndexByte(s, '"')
		if i < 0 {
			return append(out, s...), nil
		}
		out = append(out, s[:i]...)
		s = s[i+1:]
		if len(s) > 0 && s[0] == '"' {
			out = append(out, '"')
			s = s[1:]
			continue
		}
		end := bytes.IndexByte(s, delim)
		if end < 0 {
			return append(out, s...), nil
		}
		return append(out, s[:end]...), s[end+1:]
	}
}

// openQuote reports that a line ends inside a quoted cell.
func openQuote(line []byte) bool { return bytes.Count(line, []byte{'"'})%2 == 1 }
