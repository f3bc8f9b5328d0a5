package datalog

import (
	"bytes"
	"encoding/binary"
)

// plainRow is the hot loop of the reader, for rows without quotes. It looks once
// at a cell that stands as it stood in the row before, or has its shape.
func (r *rows) plainRow(line []byte, b *block) rowFault {
	text := line[:len(line)+slack]
	col, at := 0, 0
	for ; col < len(r.shapes) && at <= len(line); col++ {
		cell := &r.shapes[col]
		tail := eightAt(text, at+cell.head) << (cell.shift & 63)
		known := cell.head == 0 || (eightAt(text, at)^cell.start)<<(64-8*cell.head) == 0
		if known && tail == cell.tail {
			at += cell.width
			continue
		}
		var value float64
		if digits := tail ^ cell.blank; known && (digits|(digits+cell.fixed))&highs == 0 {
			cell.tail = tail
			value = cell.number(digits)
			at += cell.width
		} else {
			var end int
			value, end = r.unlike(line[at:], col)
			at += end + 1
		}
		if slot := r.slot[col]; slot >= 0 {
			b.changes = append(b.changes, change{slot, value})
		} else if col == r.time {
			r.at = value * r.scale
		}
	}
	return r.judge(r.at, col, line[min(at, len(line)):])
}

// unlike reads a cell that does not have the shape of the one before, and where
// it ends.
func (r *rows) unlike(s []byte, col int) (value float64, end int) {
	still := true
	if r.slot[col] < 0 && col != r.time {
		end = r.cellEnd(s)
	} else {
		value, end, still = r.number(s, col)
	}
	r.shapes[col] = unknown
	if with := s[:end+1]; still && len(with) <= slack && (end < len(s) || with[end] == '\n') {
		r.shapes[col].learn(with)
	}
	return value, end
}

// forget is for a row that the next cannot be held against.
func (r *rows) forget() {
	r.at = nan
	for i := range r.shapes {
		r.shapes[i] = unknown
	}
}

// shape is how the last cell of a column stood, when with its delimiter it has
// at most 16 characters. Many channels are slower than the log or rest, so that
// the next row has the same text again; most others have other digits at the
// same places, and of a long cell, such as a time, only the last few.
//
// The tail is its last eight characters, with the delimiter as the highest byte
// of the word; the head is what stands before them.
type shape struct {
	tail    uint64
	blank   uint64  // the tail with its digits made 0
	fixed   uint64  // what carries out of half a byte more than 9 where a digit stands, and anything but 0 elsewhere
	whole   uint64  // the places before the decimal mark
	divisor float64 // for the decimals, with the sign
	shift   int     // 64 less the bits of the tail
	width   int     // with the delimiter
	head    int     // characters
	start   uint64  // the head, and what follows it
	above   uint64  // its digits, at their place before those of the tail
}

// unknown is the shape of no cell, for no plain row holds a quote.
var unknown = shape{tail: eight('"'), blank: eight('"'), fixed: eight(0x0f)}

const highs = 0xf0f0f0f0f0f0f0f0

// learn takes the shape of a cell with its delimiter.
func (s *shape) learn(cell []byte) {
	head := max(len(cell)-8, 0)
	*s = shape{width: len(cell), head: head, shift: 64 - 8*(len(cell)-head), divisor: 1}
	text := cell[:len(cell)+slack]
	s.start, s.tail = eightAt(text, 0), eightAt(text, head)<<s.shift
	for i, c := range cell {
		digit, place := c-'0' <= 9, s.shift+8*(i-head)
		if digit {
			s.above *= 10
		}
		switch {
		case i < head && digit:
			s.above += uint64(c - '0')
		case i < head:
		case digit:
			s.blank |= '0' << place
			s.fixed |= 0x06 << place
		default:
			s.blank |= uint64(c) << place
			s.fixed |= 0x0f << place
		}
		if (c == '.' || c == ',') && i < len(cell)-1 {
			s.divisor = pow10[len(cell)-2-i]
			if i >= head {
				s.whole = 1<<place - 1
			}
		}
	}
	if cell[0] == '-' {
		s.divisor = -s.divisor
	}
}

// number is the value of a cell of this shape, of which the digits of the tail
// are given. They are added up in three steps (D. Lemire, Number parsing at a
// gigabyte per second, Software: Practice and Experience 51 (2021), section 5).
func (s *shape) number(digits uint64) float64 {
	digits = (digits&^s.whole | digits&s.whole<<8) << 8
	digits = digits * (10<<8 + 1) >> 8
	digits = digits & 0x00ff00ff00ff00ff * (100<<16 + 1) >> 16
	digits = digits & 0x0000ffff0000ffff * (10000<<32 + 1) >> 32
	return float64(s.above+digits) / s.divisor
}

// number reads a cell at the start of s, and where it ends. still says that it
// need not be read again while it stands the same.
func (r *rows) number(s []byte, col int) (value float64, end int, still bool) {
	value, end, mark, plain := scanNumber(s, r.table.delim)
	if plain {
		r.marked(mark)
		return value, end, true
	}
	end = r.cellEnd(s)
	return r.cell(s[:end], col), end, end == 0
}

// cellEnd is where the delimiter or the end of the line stands.
func (r *rows) cellEnd(s []byte) int {
	if i := bytes.IndexByte(s, r.table.delim); i >= 0 {
		return i
	}
	return len(s)
}

// eightAt are the eight bytes of s from i on.
func eightAt(s []byte, i int) uint64 { return binary.LittleEndian.Uint64(s[i : i+8]) }

// eight is a byte eight times.
func eight(b byte) uint64 { return 0x0101010101010101 * uint64(b) }
