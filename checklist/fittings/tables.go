// Package fittings knows ends, threads, hoses, seals and torque windows by the
// trade's tables, and says what does not fit.
//
// Start with [Parse] and [Mate]: an end is written family-gender:size, such as
// flare37-m:-8, and two ends fit or do not. [Windows] says which torques a joint
// can have had, [Hose], [SealRating] and [StudAmps] what a hose, a seal and a
// stud stand.
//
// The tables carry the source and the class of each row: read, common practice,
// from memory, or computed. No standard was read in full; the maker's number for
// the part in hand always wins, and a limit here is a screen. Nothing here says
// that a car is safe or legal.
//
// What is deliberately absent: cars. Rules ask this package of what is fitted.
package fittings

import (
	"embed"
	"encoding/csv"
	"strconv"
	"strings"
)

//go:embed tables/*.csv
var files embed.FS

// row is a line of a table by the names of its columns.
type row map[string]string

// number is a cell as a number, and whether it is one.
func (r row) number(column string) (float64, bool) {
	x, err := strconv.ParseFloat(r[column], 64)
	return x, err == nil
}

func table(name string) []row {
	f, err := files.Open("tables/" + name + ".csv")
	if err != nil {
		panic(err) // it is built in
	}
	defer f.Close()
	lines, err := csv.NewReader(f).ReadAll()
	if err != nil {
		panic(err)
	}
	var out []row
	for _, line := range lines[1:] {
		r := row{}
		for i, cell := range line {
			r[lines[0][i]] = cell
		}
		out = append(out, r)
	}
	return out
}

// words splits a cell of several.
func words(cell string) []string {
	return strings.FieldsFunc(cell, func(r rune) bool { return r == ';' || r == ',' })
}
