package datalog

import (
	"bytes"
	"fmt"
	"strings"
	"unicode/utf8"
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

// rows reads the table of a log, one row of numbers at a time. What it hands
// out of a row is what may have changed since the row before.
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
	at      float64
	shapes  []shape
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
	r.shapes = make([]shape, len(slot))
	r.forget()
}

// next reads one good row into out, which holds the row before.
func (r *rows) next(out []float64) (at float64, ok bool) {
	var b block
	if !r.read(&b) {
		return 0, false
	}
	for _, c := range b.changes {
		out[c.place] = c.value
	}
	return b.rows[0].at, true
}

// read adds one good row to a block.
func (r *rows) read(b *block) bool {
	for {
		line, long, more := r.lines.next()
		if !more {
			return false
		}
		if long {
			r.bad(rowFault{text: "the row is longer than %d kB", number: maxRow >> 10})
			continue
		}
		if comment(line) {
			r.reading.Comments += min(len(line), 1)
			continue
		}
		if r.repeated(line) {
			continue
		}
		known := len(b.changes)
		if why := r.row(line, b); why.text != "" {
			r.bad(why)
			r.forget()
			b.changes = b.changes[:known]
			continue
		}
		r.reading.Rows++
		b.rows = append(b.rows, row{r.at, len(b.changes)})
		return true
	}
}

// row reads a line, by the plain way when it holds no quotes.
func (r *rows) row(line []byte, b *block) rowFault {
	if bytes.IndexByte(line, '"') < 0 {
		return r.plainRow(line, b)
	}
	r.forget()
	if openQuote(line) {
		whole, ok := r.join(line)
		if !ok {
			return rowFault{text: "a quote is not closed"}
		}
		line = whole
	}
	return r.quotedRow(line, b)
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

// cell reads a cell that is not a plain number.
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

func (r *rows) quotedRow(line []byte, b *block) rowFault {
	r.cells = appendCells(r.cells[:0], line, r.table.delim)
	n := min(len(r.cells), len(r.slot))
	for col, cell := range r.cells[:n] {
		slot := r.slot[col]
		if slot < 0 && col != r.time {
			continue
		}
		if _, end, mark, plain := scanNumber(cell, 0); plain && end == len(cell) {
			r.marked(mark)
		}
		if value := r.cell(cell, col); slot >= 0 {
			b.changes = append(b.changes, change{slot, value})
		} else {
			r.at = value * r.scale
		}
	}
	return r.judge(r.at, n, bytes.Join(r.cells[n:], []byte{r.table.delim}))
}

// rowFault is why a row cannot be read, with the numbers its text asks for. It
// is put into words only for the rows that are shown. A good row has no text.
type rowFault struct {
	text       string
	number, of int
}

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
	return rowFault{}
}

// comment reports a line that is none of the table.
func comment(line []byte) bool {
	if len(line) == 0 || line[0] == '#' {
		return true
	}
	mayBeSpace := line[0] <= ' ' || line[0] >= utf8.RuneSelf
	return mayBeSpace && len(bytes.TrimSpace(line)) == 0
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
