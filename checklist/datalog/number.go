package datalog

import (
	"bytes"
	"encoding/binary"
	"math"
	"math/bits"
	"strconv"
)

// pow10 are the powers of ten that a float64 holds exactly.
var pow10 = [...]float64{1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15}

// nan stands for a blank or text cell in a row of numbers.
var nan = math.NaN()

// scanNumber reads a plain decimal at the start of s, up to the delimiter or
// the end: the value, where it ended, and whether it was plain. mark is the
// decimal mark it had, or 0. At most 15 digits are plain, for then the
// mantissa and the power of ten are exact and one division rounds correctly
// (W. D. Clinger, How to read floating point numbers accurately, PLDI 1990).
func scanNumber(s []byte, delim byte) (value float64, end int, mark byte, plain bool) {
	i, negative := 0, false
	if i < len(s) && (s[i] == '-' || s[i] == '+') {
		negative = s[i] == '-'
		i++
	}
	mantissa, digits, point := uint64(0), 0, -1
	for ; i < len(s); i++ {
		c := s[i]
		if d := c - '0'; d <= 9 {
			mantissa = mantissa*10 + uint64(d)
			digits++
			continue
		}
		if c == delim {
			break
		}
		if point >= 0 || c != '.' && c != ',' {
			return 0, i, 0, false
		}
		point, mark = digits, c
	}
	if digits == 0 || digits > 15 {
		return 0, i, 0, false
	}
	value = float64(mantissa)
	if point >= 0 {
		value /= pow10[digits-point]
	}
	if negative {
		value = -value
	}
	return value, i, mark, true
}

// One byte in each of the eight of a word.
const (
	ones  = 0x0101010101010101
	tops  = 0x8080808080808080
	zeros = 0x3030303030303030 // "00000000"
)

// quickNumber reads what [scanNumber] reads, for a cell of at most eight
// characters and a known decimal mark. delims and points are that byte eight
// times. The cell is loaded as one word, its mark squeezed out, and its digits
// added up in three steps (D. Lemire, Number parsing at a gigabyte per second,
// Software: Practice and Experience 51 (2021), section 5). s must have eight
// bytes of capacity.
func quickNumber(s []byte, delims, points uint64) (value float64, end int, plain bool) {
	word := firstEight(s)
	n := min(indexByte(word, delims), len(s))
	end = n
	if n == 8 && len(s) > 8 && s[8] != byte(delims) {
		return 0, 0, false
	}
	negative := byte(word) == '-'
	if negative {
		word >>= 8
		n--
	}
	decimals := 0
	if mark := indexByte(word, points); mark < n {
		before := uint64(1)<<(8*mark) - 1
		word = word&before | word>>8&^before
		decimals = n - 1 - mark
		n--
	}
	if n <= 0 {
		return 0, 0, false
	}
	word = word<<(64-8*n) | zeros>>(8*n)
	if word&0xf0f0f0f0f0f0f0f0|(word+0x0606060606060606)&0xf0f0f0f0f0f0f0f0>>4 != 0x3333333333333333 {
		return 0, 0, false
	}
	word = word & 0x0f0f0f0f0f0f0f0f * (10<<8 + 1) >> 8
	word = word & 0x00ff00ff00ff00ff * (100<<16 + 1) >> 16
	word = word & 0x0000ffff0000ffff * (10000<<32 + 1) >> 32
	value = float64(word) / pow10[decimals]
	if negative {
		value = -value
	}
	return value, end, true
}

// firstEight are the first eight bytes of s, which may end before them; it must
// have eight bytes of capacity.
func firstEight(s []byte) uint64 { return binary.LittleEndian.Uint64(s[:8:cap(s)]) }

// eight is a byte eight times.
func eight(b byte) uint64 { return ones * uint64(b) }

// indexByte is where a byte, given eight times, first stands in a word, from
// its low end, or 8.
func indexByte(word, b uint64) int {
	x := word ^ b
	return bits.TrailingZeros64((x-ones)&^x&tops) / 8
}

// cellNumber reads a cell that is not a plain decimal: spaces around, quotes
// taken off, exponents, more digits. ok is false for text; a blank cell and
// the words for "no value" are NaN and ok.
func cellNumber(cell []byte) (value float64, ok bool) {
	cell = bytes.TrimSpace(cell)
	if noValue(cell) {
		return nan, true
	}
	if len(cell) > 40 {
		return nan, false
	}
	if v, end, _, plain := scanNumber(cell, 0); plain && end == len(cell) {
		return v, true
	}
	if c := cell[len(cell)-1]; c != '.' && (c < '0' || c > '9') {
		return nan, false // also keeps "0x1p" and "inf" from the parser
	}
	if bytes.ContainsAny(cell, "xX_pP") {
		return nan, false
	}
	v, err := strconv.ParseFloat(string(bytes.Replace(cell, []byte{','}, []byte{'.'}, 1)), 64)
	if err != nil || math.IsInf(v, 0) {
		return nan, false
	}
	return v, true
}

func noValue(cell []byte) bool {
	switch len(cell) {
	case 0:
		return true
	case 1:
		return cell[0] == '-'
	case 2, 3, 4:
		for _, word := range [...]string{"nan", "--", "---", "n/a", "null"} {
			if len(cell) == len(word) && bytes.EqualFold(cell, []byte(word)) {
				return true
			}
		}
	}
	return false
}
