package datalog

import (
	"bytes"
	"math"
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

// cellNumber reads a cell that is not a plain decimal: spaces around, quotes
// taken off, exponents, more digits. ok is false for text; a blank cell and
// the words for "no value" are NaN and ok.
func cellNumber(cell []byte) (value float64, ok bool) {
	cell = bytes.TrimSpace(cell)
	if v, end, _, plain := scanNumber(cell, 0); plain && end == len(cell) {
		return v, true
	}
	if noValue(cell) {
		return nan, true
	}
	if len(cell) > 40 {
		return nan, false
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
