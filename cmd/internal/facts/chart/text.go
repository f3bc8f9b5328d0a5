package chart

import (
	"fmt"
	"math"
	"strings"
	"unicode"
)

// Measures of the drawing in a terminal.
const (
	labelColumns = 9
	rowHeight    = 15 // px of [Panel.Height] that a row stands for
	leastColumns = 20
	bandMark     = '.'
	limitMark    = '-'
	bothMark     = '*'
)

// Text is the chart in so many columns of plain ASCII, but for what stands in
// its names. Each line of a panel has a letter; where two meet stands a star.
func (c Chart) Text(columns int) []string {
	d := text{columns: max(columns-labelColumns-2, leastColumns)}
	d.x = scaleOf(c.X, c.spreadX(), c.sideMargin(), d.columns/10)
	out := wrap(c.Title, columns)
	for _, p := range c.Panels {
		out = append(out, d.panel(p, columns)...)
	}
	out = append(out, indented(strings.Repeat("-", d.columns)), indented(d.ticks()))
	for _, w := range c.Windows {
		out = append(out, d.window(w)...)
	}
	out = append(out, indented(strings.Repeat(" ", max((d.columns-len(c.X.heading()))/2, 0))+c.X.heading()))
	for _, n := range c.Notes {
		out = append(out, wrap(n, columns)...)
	}
	return out
}

func indented(s string) string {
	return strings.TrimRight(fmt.Sprintf("%*s  %s", labelColumns, "", s), " ")
}

// text is a chart being drawn in a terminal.
type text struct {
	columns int
	x       scale
}

func (d text) column(x float64) int { return int(math.Round(d.x.at(x) * float64(d.columns-1))) }

func (d text) panel(p Panel, columns int) []string {
	height := p.Height
	if height == 0 {
		height = panelHeight
	}
	rows := max(height/rowHeight, 3)
	y := scaleOf(p.Y, p.spreadY(), margin, max(rows/2, 3))
	marks := p.marks()
	g := grid{cells: make([][]rune, rows), y: y}
	for i := range g.cells {
		g.cells[i] = []rune(strings.Repeat(" ", d.columns))
	}
	for column := range d.columns {
		g.column(p, column, d.x.low+(d.x.high-d.x.low)*float64(column)/float64(d.columns-1))
	}
	for i, l := range p.Lines {
		d.line(g, l, marks[i])
	}
	if len(y.ticks) == 0 {
		copy(g.cells[rows/2][max(d.columns/2-8, 0):], []rune("nothing to draw"))
	}
	out := wrap(p.legend(marks, g.met()), columns)
	return append(out, g.lines()...)
}

// marks are the letters of the lines: as asked, or the first letter of the
// name that is not taken.
func (p Panel) marks() []rune {
	taken := map[rune]bool{}
	marks := make([]rune, len(p.Lines))
	for i, l := range p.Lines {
		marks[i] = l.Mark
		for _, r := range l.Name + "abcdefghijklmnopqrstuvwxyz" {
			if marks[i] == 0 && unicode.IsLetter(r) && !taken[r] {
				marks[i] = r
			}
		}
		taken[marks[i]] = true
	}
	return marks
}

func (p Panel) legend(marks []rune, met bool) string {
	parts := []string{p.Y.heading() + ":"}
	for i, l := range p.Lines {
		parts = append(parts, fmt.Sprintf("%c %s", marks[i], l.Name))
	}
	for _, b := range p.Bands {
		parts = append(parts, fmt.Sprintf("%c %s", bandMark, b.Name))
	}
	for _, l := range p.Limits {
		parts = append(parts, fmt.Sprintf("%c %s", limitMark, l.Name))
	}
	if met {
		parts = append(parts, string(bothMark)+" where they meet")
	}
	return parts[0] + " " + strings.Join(parts[1:], "; ")
}

func (d text) line(g grid, l Line, mark rune) {
	for i, p := range l.Points {
		if !p.known() {
			continue
		}
		g.put(d.column(p.X), p.Y, mark)
		if i == 0 || l.Kind == Scattered || !l.Points[i-1].known() {
			continue
		}
		from := l.Points[i-1]
		for column := d.column(from.X) + 1; column < d.column(p.X); column++ {
			share := float64(column-d.column(from.X)) / float64(d.column(p.X)-d.column(from.X))
			g.put(column, from.Y+(p.Y-from.Y)*share, mark)
		}
	}
}

// grid is the cells of a panel, its top row first.
type grid struct {
	cells [][]rune
	y     scale
}

func (g grid) row(y float64) int {
	return len(g.cells) - 1 - int(math.Round(g.y.at(y)*float64(len(g.cells)-1)))
}

func (g grid) put(column int, y float64, mark rune) {
	row := g.row(y)
	if row < 0 || row >= len(g.cells) || column < 0 || column >= len(g.cells[row]) {
		return
	}
	switch g.cells[row][column] {
	case ' ', bandMark, limitMark, mark:
		g.cells[row][column] = mark
	default:
		g.cells[row][column] = bothMark
	}
}

// column shades the bands and limits of one column.
func (g grid) column(p Panel, column int, x float64) {
	for _, b := range p.Bands {
		low, high := reaches(b.Low, x, g.y.low), reaches(b.High, x, g.y.high)
		if !(low <= high) {
			continue
		}
		for row := max(g.row(high), 0); row <= min(g.row(low), len(g.cells)-1); row++ {
			g.cells[row][column] = bandMark
		}
	}
	for _, l := range p.Limits {
		if row := g.row(l.At); row >= 0 && row < len(g.cells) {
			g.cells[row][column] = limitMark
		}
	}
}

func (g grid) met() bool {
	for _, row := range g.cells {
		if strings.ContainsRune(string(row), bothMark) {
			return true
		}
	}
	return false
}

func (g grid) lines() []string {
	labels := make([]string, len(g.cells))
	for _, t := range g.y.ticks {
		if row := g.row(t.At); row >= 0 && row < len(labels) {
			labels[row] = t.Text
		}
	}
	var out []string
	for i, row := range g.cells {
		out = append(out, strings.TrimRight(fmt.Sprintf("%*s |%s", labelColumns, labels[i], string(row)), " "))
	}
	return out
}

// ticks is the row of texts below the axis; one that would touch the text
// before it is left out.
func (d text) ticks() string {
	row := []rune(strings.Repeat(" ", d.columns))
	free := 0
	for _, t := range d.x.ticks {
		word := []rune(t.Text)
		start := min(max(d.column(t.At)-len(word)/2, 0), d.columns-len(word))
		if start < free || start < 0 {
			continue
		}
		copy(row[start:], word)
		free = start + len(word) + 1
	}
	return string(row)
}

// window points at a stretch, with its name where there is room.
func (d text) window(w Window) []string {
	from, to := min(max(d.column(w.From), 0), d.columns-1), min(max(d.column(w.To), 0), d.columns-1)
	arrows := strings.Repeat("^", max(to-from, 0)+1)
	name := len([]rune(w.Name))
	switch {
	case from > name:
		return []string{indented(strings.Repeat(" ", from-name-1) + w.Name + " " + arrows)}
	case from+len(arrows)+1+name <= d.columns:
		return []string{indented(strings.Repeat(" ", from) + arrows + " " + w.Name)}
	}
	return []string{indented(strings.Repeat(" ", from) + arrows), indented(w.Name)}
}
