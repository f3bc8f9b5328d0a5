package datalog

import (
	"bytes"
	"fmt"
	"strings"
)

// Limits of what is read past: a file with more bad rows than these is not a
// log that can be trusted.
const (
	badRowsShown  = 20
	badRowShare   = 0.05
	badRowsFew    = 10   // always read past
	maxQuotedRows = 8    // lines that one quoted cell may span
	maxTime       = 1e12 // s; beyond it a time cell is not a time
)

// BadRow is a row that could not be read.
type BadRow struct {
	Line int    `json:"line"` // from 1, in the unpacked text
	Why  string `json:"why"`
}

// Reading is what a reader has to say about the text itself.
type Reading struct {
	Packing   string   `json:"packing,omitempty"` // gzip, zstd
	Encoding  string   `json:"encoding"`
	Delimiter string   `json:"delimiter"`
	Rows      int      `json:"rows"`               // rows read
	Bad       int      `json:"bad"`                // rows left out
	BadRows   []BadRow `json:"bad_rows,omitempty"` // the first of them
	Headers   int      `json:"repeated_headers"`   // header rows again, below
	Comments  int      `json:"comments"`           // comment lines below the header
	Texts     int      `json:"text_cells"`         // cells of text in columns of numbers
	Mixed     bool     `json:"mixed_decimals"`     // decimal points and decimal commas
}

// rows reads the table of a log, one row of numbers at a time.
type rows struct {
	src   *source
	lines *lines
	table table
	names []string
	units []string
	clock clock

	slot   []int // column to place in the row handed out, -1 to skip
	time   int   // the column of time, -1 when there is none
	scale  float64
	header []byte // the header line as it stands
	first  []byte // its unit row, which is repeated with it

	point   byte // the decimal mark, 0 before the first
	before  []shortCell
	cells   [][]byte
	joined  []byte
	reading Reading
}

// openRows finds the table of a log and stands before its first row.
func openRows(src *source) (*rows, error) {
	r := &rows{src: src, lines: newLines(src.text), time: -1}
	head := r.lines.peek()
	if err := r.lines.failed(); err != nil {
		return nil, fmt.Errorf("log: cannot be read: %w", err)
	}
	if len(bytes.TrimSpace(head)) == 0 {
		return nil, fmt.Errorf("log: the file is empty")
	}
	t, err := sniff(head)
	if err != nil {
		return nil, err
	}
	r.table = t
	r.nameColumns()
	for i := 0; i < t.data; i++ {
		line, _, _ := r.lines.next()
		switch i {
		case t.header:
			r.header = bytes.Clone(line)
		case t.units:
			r.first = bytes.Clone(line)
		}
	}
	r.slot = make([]int, len(r.names))
	for i := range r.slot {
		r.slot[i] = -1
	}
	r.reading = Reading{Packing: src.Packing, Encoding: src.Encoding, Delimiter: string(t.delim)}
	return r, nil
}

// nameColumns makes names unique, so that a column can be bound by name: the
// second "Lambda" is "Lambda (2)".
func (r *rows) nameColumns() {
	seen := map[string]int{}
	for i, cell := range r.table.names {
		name := strings.Join(strings.Fields(textOf(cell)), " ")
		if !bytes.Equal(cell, []byte(textOf(cell))) && r.src.Encoding == "utf-8" {
			r.src.Encoding = "latin-1"
		}
		seen[name]++
		unit := ""
		if i < len(r.table.unit) {
			unit = trimBrackets(strings.TrimSpace(textOf(r.table.unit[i])))
		}
		if n := seen[name]; n > 1 {
			name = fmt.Sprintf("%s (%d)", name, n)
		}
		r.names = append(r.names, name)
		r.units = append(r.units, unit)
	}
}

// trimBrackets takes the brackets off a unit row's "[kPa]".
func trimBrackets(unit string) string {
	if n := len(unit); n > 2 && strings.ContainsRune("[({", rune(unit[0])) && strings.ContainsRune("])}", rune(unit[n-1])) {
		return unit[1 : n-1]
	}
	return unit
}

// choose says which column is the time, with its unit's length in seconds, and
// which columns are wanted at which place of the row.
func (r *rows) choose(time int, scale float64, slot []int) {
	r.time, r.scale, r.slot = time, scale, slot
	r.before = make([]shortCell, len(slot))
	for i := range r.before {
		r.before[i].mask = ^uint64(0) // no cell is eight zero bytes
	}
}

// shortCell is the last short number of a column, with its delimiter. Many
// channels are slower than the log, so that the next row has it again.
type shortCell struct {
	word, mask uint64
	value      float64
	end        int
}

// next reads one good row: its time in seconds and its numbers, NaN where a
// cell is blank or text.
func (r *rows) next(out []float64) (at float64, ok bool) {
	for {
		line, long, more := r.lines.next()
		if !more {
			return 0, false
		}
		if long {
			r.bad(rowFault{text: "the row is longer than %d kB", number: maxRow >> 10})
			continue
		}
		if len(line) == 0 || line[0] == '#' || len(bytes.TrimSpace(line)) == 0 {
			r.reading.Comments += min(len(line), 1)
			continue
		}
		if r.repeated(line) {
			continue
		}
		at, why := r.row(line, out)
		if why == whole {
			r.reading.Rows++
			return at, true
		}
		r.bad(why)
	}
}

// row reads a line, by the plain way when it holds no quotes.
func (r *rows) row(line []byte, out []float64) (float64, rowFault) {
	if bytes.IndexByte(line, '"') < 0 {
		return r.plainRow(line, out)
	}
	if openQuote(line) {
		whole, ok := r.join(line)
		if !ok {
			return 0, rowFault{text: "a quote is not closed"}
		}
		line = whole
	}
	return r.quotedRow(line, out)
}

// join adds the lines that a quoted cell spans. When it is not closed in so
// many, they are all bad.
func (r *rows) join(line []byte) ([]byte, bool) {
	r.joined = append(r.joined[:0], line...)
	for range maxQuotedRows {
		next, long, ok := r.lines.next()
		if !ok || long || len(r.joined) > maxRow {
			return nil, false
		}
		r.bad(rowFault{text: "within a quote that is not closed"})
		r.joined = append(append(r.joined, '\n'), next...)
		if !openQuote(r.joined) {
			r.unbad(bytes.Count(r.joined, []byte{'\n'}))
			return r.joined, true
		}
	}
	return nil, false
}

// plainRow is the hot loop of the reader: one look at each byte of the cells
// that are wanted, and a search for the delimiter in those that are not.
func (r *rows) plainRow(line []byte, out []float64) (at float64, why rowFault) {
	delim, slots := r.table.delim, r.slot
	delims, points := eight(delim), eight(r.point)
	at = nan
	col := 0
	for ; col < len(slots); col++ {
		slot := slots[col]
		if slot < 0 && col != r.time {
			i := bytes.IndexByte(line, delim)
			if i < 0 {
				line = nil
				col++
				break
			}
			line = line[i+1:]
			continue
		}
		word, before := firstEight(line), &r.before[col]
		value, end := before.value, before.end
		if (word^before.word)&before.mask != 0 {
			var plain bool
			if value, end, plain = quickNumber(line, delims, points); !plain {
				value, end = r.longCell(line, col)
				points = eight(r.point)
			} else if end < min(8, len(line)) {
				*before = shortCell{word, 1<<(8*end+8) - 1, value, end}
			}
		}
		if slot >= 0 {
			out[slot] = value
		} else {
			at = value * r.scale
		}
		if end >= len(line) {
			line = nil
			col++
			break
		}
		line = line[end+1:]
	}
	return at, r.judge(at, col, line)
}

// longCell reads a number that is not short, or has the file's first decimal
// mark.
func (r *rows) longCell(line []byte, col int) (float64, int) {
	value, end, mark, plain := scanNumber(line, r.table.delim)
	if !plain {
		return r.oddCell(line, col)
	}
	r.marked(mark)
	return value, end
}

// marked takes note of a decimal mark.
func (r *rows) marked(mark byte) {
	switch {
	case mark == 0 || mark == r.point:
	case r.point == 0:
		r.point = mark
	default:
		r.reading.Mixed = true
	}
}

// oddCell reads a cell that is not a plain number, and where it ends.
func (r *rows) oddCell(line []byte, col int) (float64, int) {
	end := bytes.IndexByte(line, r.table.delim)
	if end < 0 {
		end = len(line)
	}
	return r.cell(line[:end], col), end
}

func (r *rows) cell(cell []byte, col int) float64 {
	if v, ok := cellNumber(cell); ok {
		return v
	}
	if col != r.time {
		r.reading.Texts++
		return nan
	}
	v, ok := nan, false
	if len(cell) <= 40 {
		v, ok = r.clock.seconds(string(cell))
	}
	if !ok {
		return nan
	}
	return v / r.scale
}

func (r *rows) quotedRow(line []byte, out []float64) (at float64, why rowFault) {
	r.cells = appendCells(r.cells[:0], line, r.table.delim)
	at = nan
	n := min(len(r.cells), len(r.slot))
	for col, cell := range r.cells[:n] {
		if slot := r.slot[col]; slot >= 0 {
			if _, _, mark, plain := scanNumber(cell, 0); plain {
				r.marked(mark)
			}
			out[slot] = r.cell(cell, col)
		} else if col == r.time {
			at = r.cell(cell, col) * r.scale
		}
	}
	return at, r.judge(at, n, bytes.Join(r.cells[n:], []byte{r.table.delim}))
}

// rowFault is why a row cannot be read, with the numbers its text asks for. It
// is put into words only for the rows that are shown.
type rowFault struct {
	text       string
	number, of int
}

// whole is a row without fault.
var whole rowFault

func (f rowFault) String() string {
	numbers := []any{f.number, f.of}
	return fmt.Sprintf(f.text, numbers[:strings.Count(f.text, "%d")]...)
}

// judge says what is wrong with a row of so many cells with rest behind them.
func (r *rows) judge(at float64, cells int, rest []byte) rowFault {
	switch {
	case cells < len(r.slot):
		return rowFault{"%d cells of %d", cells, len(r.slot)}
	case len(rest) > 0 && len(bytes.Trim(rest, string(r.table.delim)+" ")) > 0:
		return rowFault{text: "more than %d cells", number: len(r.slot)}
	case r.time >= 0 && !(at > -maxTime && at < maxTime):
		return rowFault{text: "the time cannot be read"}
	}
	return whole
}

// repeated reports that a line is the header or its unit row once more, as
// loggers write it when a log is continued.
func (r *rows) repeated(line []byte) bool {
	if bytes.Equal(line, r.header) {
		r.reading.Headers++
		return true
	}
	return r.first != nil && bytes.Equal(line, r.first)
}

func (r *rows) bad(why rowFault) {
	r.reading.Bad++
	if len(r.reading.BadRows) < badRowsShown {
		r.reading.BadRows = append(r.reading.BadRows, BadRow{Line: r.lines.no, Why: why.String()})
	}
}

// unbad takes back the last bad rows.
func (r *rows) unbad(n int) {
	r.reading.Bad -= n
	r.reading.BadRows = r.reading.BadRows[:min(len(r.reading.BadRows), r.reading.Bad)]
}

// finish says whether the text was whole and good enough to be judged.
func (r *rows) finish() error {
	if err := r.lines.failed(); err != nil {
		return fmt.Errorf("log: cannot be read beyond line %d: %w", r.lines.no, err)
	}
	if r.reading.Rows == 0 {
		return fmt.Errorf("log: no row could be read%s", r.firstBad())
	}
	all := r.reading.Rows + r.reading.Bad
	if r.reading.Bad > badRowsFew && float64(r.reading.Bad) > badRowShare*float64(all) {
		return fmt.Errorf("log: %d of %d rows cannot be read%s: export it again from the logger", r.reading.Bad, all, r.firstBad())
	}
	return nil
}

func (r *rows) firstBad() string {
	if len(r.reading.BadRows) == 0 {
		return ""
	}
	b := r.reading.BadRows[0]
	return fmt.Sprintf(" (line %d: %s)", b.Line, b.Why)
}
