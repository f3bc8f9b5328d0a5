package datalog

import (
	"bytes"
	"math"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// TestPlainIsQuoted: a log reads the same with every cell in quotes as with none:
// to the last bit, and with the same rows left out.
func TestPlainIsQuoted(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		columns := rapid.IntRange(2, 5).Draw(t, "columns")
		number := rapid.StringMatching(`-?[0-9]{1,9}(\.[0-9]{0,9})?`)
		pool := append(rapid.SliceOfN(number, 1, 4).Draw(t, "numbers"), "", "NaN", "x", "1e2", "12345678", "1234567", "-.5", "0", "7", "1.50")
		cell := rapid.SampledFrom(pool)
		quick := "h" + strings.Repeat(";h", columns-1) + "\n" + strings.Repeat("1"+strings.Repeat(";2", columns-1)+"\n", 12)
		slow := quick
		for range rapid.IntRange(1, 30).Draw(t, "rows") {
			var cells []string
			for range columns + rapid.SampledFrom([]int{0, 0, 0, 0, 0, -1, 1}).Draw(t, "odd row") {
				cells = append(cells, cell.Draw(t, "cell"))
			}
			if strings.Join(cells, "") == "" { // a blank line is no row
				continue
			}
			end := rapid.SampledFrom([]string{"\n", "\r\n"}).Draw(t, "line end")
			quick += strings.Join(cells, ";") + end
			slow += `"` + strings.Join(cells, `";"`) + `"` + end
		}
		_, fast, r1, err1 := readAll([]byte(quick))
		_, plain, r2, err2 := readAll([]byte(slow))
		if len(fast) != len(plain) || r1.Rows != r2.Rows || r1.Bad != r2.Bad || (err1 == nil) != (err2 == nil) {
			t.Fatalf("%d rows and %d, %+v and %+v, %v and %v in %q", len(fast), len(plain), r1, r2, err1, err2, quick)
		}
		for i := range fast {
			for j := range fast[i] {
				if a, b := fast[i][j], plain[i][j]; math.Float64bits(a) != math.Float64bits(b) && (a == a || b == b) {
					t.Fatalf("row %d cell %d: %v and %v in %q", i, j, a, b, quick)
				}
			}
		}
	})
}

// readers are two of one table, of 4 columns of which the second is not wanted.
func readers(delim byte, time int) (quick, slow *rows) {
	two := [2]*rows{}
	for i := range two {
		two[i] = &rows{table: table{delim: delim}}
		two[i].choose(time, 0.001, []int{0, -1, 1, 2})
		if time >= 0 {
			two[i].slot[time] = -1
		}
	}
	return two[0], two[1]
}

// hostile are cells that look like numbers to one who does not look closely.
var hostile = []string{"", "", " ", "-", "+", ".", "-.", ".5", "-.5", "+7", "00012", "1.", "1..2", "1.2.3", "1,5", "1-2", "--1", "1e3", "1E-2", "NaN", "nan", "ERR",
	"1/2", "1:2", "12:07:30.25", "1;2", "1\t2", "1\x002", "\x00", "\x00\x00\x00\x00\x00\x00\x00\x00", "1\r", "\r", "1 ", " 1", "\xff", "1\xff", "1\x80", "#1", "0x1p2", "1_0",
	"123456789012345", "1234567890123456", "123456.123456789", "0.1234567890123", "99999999", "9999999.9", "-9999.9999", "-0", "-0.000", "12345678.", ".12345678", "::::::::", "////////"}

// TestPlainRow reads the same bytes by [rows.plainRow], which looks at eight of
// them at once and keeps the shape of the row before, and by [rows.quotedRow],
// which looks at one and keeps nothing: the same numbers to the last bit, rows
// left out for the same reason, and the same said of the text.
func TestPlainRow(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		delim := rapid.SampledFrom([]byte(";,\t|")).Draw(t, "delimiter")
		quick, slow := readers(delim, rapid.SampledFrom([]int{-1, 0, 2}).Draw(t, "time"))
		cell := rapid.OneOf(rapid.StringMatching(`-?[0-9]{1,7}(\.[0-9]{0,5})?`), rapid.SampledFrom(hostile), rapid.StringN(0, 12, 20))
		values := [2]map[int]float64{{}, {}}
		cells := []string{"1", "2", "3", "4"}
		for range rapid.IntRange(1, 25).Draw(t, "rows") {
			for i := range cells {
				switch rapid.IntRange(0, 9).Draw(t, "next") {
				case 0, 1:
					cells[i] = cell.Draw(t, "cell")
				case 2, 3, 4:
					cells[i] = redrawn(t, cells[i])
				}
			}
			text := strings.Join(cells[:rapid.SampledFrom([]int{4, 4, 4, 4, 4, 3, 1}).Draw(t, "cells")], string(delim))
			text += rapid.SampledFrom([]string{"", "", "", "", string(delim), string(delim) + "5", " ", "\r", "\r7", "\x007"}).Draw(t, "and")
			text = strings.NewReplacer("\"", "'", "\n", "").Replace(text)
			behind := rapid.SampledFrom([]string{"\n", "\n", "\r\n", "\x00"}).Draw(t, "line end")
			behind += rapid.SampledFrom([]string{"12;13,14\t15|16;17", "\n\n\n\n", ""}).Draw(t, "behind")
			line := append(append([]byte(text), behind...), make([]byte, slack)...)[:len(text)]
			var a, b block
			why, want := quick.plainRow(line, &a), slow.quotedRow(line, &b)
			if why != want {
				t.Fatalf("%q: %v, by the slow way %v", text, why, want)
			}
			if why.text != "" {
				quick.forget()
				slow.forget()
				continue
			}
			for i, read := range [][]change{a.changes, b.changes} {
				for _, c := range read {
					values[i][c.place] = c.value
				}
			}
			for place, want := range values[1] {
				if got := values[0][place]; !sameBits(got, want) {
					t.Fatalf("%q: place %d is %v, by the slow way %v", text, place, got, want)
				}
			}
			if !sameBits(quick.at, slow.at) || len(values[0]) != len(values[1]) {
				t.Fatalf("%q: %v at %v, by the slow way %v at %v", text, values[0], quick.at, values[1], slow.at)
			}
		}
		if quick.reading.Texts != slow.reading.Texts || quick.reading.Mixed != slow.reading.Mixed || quick.point != slow.point {
			t.Fatalf("%+v, mark %q, by the slow way %+v, mark %q", quick.reading, quick.point, slow.reading, slow.point)
		}
	})
}

// redrawn is a cell with some of its digits, and now and then another byte, changed.
func redrawn(t *rapid.T, cell string) string {
	out := []byte(cell)
	for i, c := range out {
		switch {
		case c >= '0' && c <= '9' && rapid.Bool().Draw(t, "digit"):
			out[i] = byte('0' + rapid.IntRange(0, 9).Draw(t, "as"))
		case rapid.IntRange(0, 39).Draw(t, "byte") == 0:
			out[i] = rapid.SampledFrom([]byte(":/?.,-; \r\x00\xb0\xff")).Draw(t, "as")
		}
	}
	return string(out)
}

func sameBits(a, b float64) bool {
	return math.Float64bits(a) == math.Float64bits(b) || a != a && b != b
}

// TestShapesAgainstStrconv: a number read by the shape of another is the very
// float64 that strconv reads.
func TestShapesAgainstStrconv(t *testing.T) {
	shaped := 0
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.StringMatching(`[-+]?[0-9]{1,8}(\.[0-9]{0,5})?`).Draw(t, "number")
		other := []byte(text)
		for i, c := range other {
			if c >= '0' && c <= '9' && i >= len(other)-7 {
				other[i] = byte('0' + rapid.IntRange(0, 9).Draw(t, "digit"))
			}
		}
		quick, _ := readers(';', -1)
		var b block
		for _, cell := range [][]byte{[]byte(text), other} {
			line := append(append([]byte("1;2;3;"), cell...), "\n"+string(make([]byte, slack))...)[:6+len(cell)]
			if why := quick.plainRow(line, &b); why.text != "" {
				t.Fatalf("%q: %v", line, why)
			}
			if shape := quick.shapes[3]; shape.width != len(cell)+1 {
				t.Fatalf("%q has the shape %+v", cell, shape)
			}
		}
		if bytes.Equal(other, []byte(text)) {
			return
		}
		shaped++
		want, err := strconv.ParseFloat(string(other), 64)
		if got := b.changes[len(b.changes)-1].value; err != nil || !sameBits(got, want) {
			t.Fatalf("%q after %q: %v, strconv %v", other, text, got, want)
		}
	})
	if shaped == 0 {
		t.Error("no number had the shape of another")
	}
}
