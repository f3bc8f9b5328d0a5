package chart

import (
	"bytes"
	"cmp"
	"fmt"
	"html"
	"math"
	"slices"
	"strings"

	"feedproof/cmd/internal/visible"
)

// Measures of the drawing, px.
const (
	width       = 760
	marginLeft  = 56
	marginEdge  = 8
	textSize    = 12
	titleSize   = 15
	lineHeight  = 16
	sample      = 22 // length of the piece of line beside its name
	panelHeight = 150
	mostX       = 8
	mostY       = 6
)

// Colours on white. Text stands out 15 to 1, lines 4.5 to 1 or better (WCAG 2.2,
// 1.4.3 and 1.4.11). Names, dashes and marks say the same without colour.
const (
	paper      = "#ffffff"
	ink        = "#1f1f1f"
	gridColour = "#d9d9d9"
	bandFill   = "#dcebdc"
	bandEdge   = "#3f6b3f"
	markFill   = "#ffe8b3"
	markEdge   = "#8a5a00"
	limitInk   = "#a3161c"
)

// strokes are the lines of a panel in their order.
var strokes = []struct{ colour, dash string }{
	{"#0b5394", ""}, {"#a34700", "8 3"}, {"#2d6a2d", "2 3"}, {"#6a3d9a", "9 3 2 3"}, {"#1f1f1f", "5 5"}, {"#8b1a4f", "12 3 2 3 2 3"},
}

// SVG is the chart as a file of its own, which may also stand inside a page.
func (c Chart) SVG() []byte {
	d := c.layout()
	d.printf(`<svg xmlns="http://www.w3.org/2000/svg" role="img" width="%d" height="%d" viewBox="0 0 %[1]d %[2]d" font-family="Arial, Helvetica, sans-serif" font-size="%d" fill="%s">`+"\n",
		width, d.height, textSize, ink)
	d.printf("<title>%s</title>\n<desc>%s</desc>\n", html.EscapeString(c.Title), html.EscapeString(c.About))
	d.printf(`<rect width="%d" height="%d" fill="%s"/>`+"\n", width, d.height, paper)
	d.printf(`<text x="%d" y="%d" font-size="%d" font-weight="bold">%s</text>`+"\n", marginEdge, titleSize+4, titleSize, html.EscapeString(c.Title))
	d.windows()
	for i := range c.Panels {
		d.panel(i)
	}
	d.axis()
	d.printf("</svg>\n")
	return []byte(visible.Text(d.String()))
}

// drawing is a chart being drawn.
type drawing struct {
	bytes.Buffer
	c      Chart
	x      scale
	right  int   // end of the plots
	tops   []int // of the plots
	sizes  []int // their heights
	keys   [][]key
	scales []scale
	notes  []string
	bottom int // of the last plot
	height int
}

func (d *drawing) printf(format string, args ...any) { fmt.Fprintf(d, format, args...) }

func (c Chart) layout() *drawing {
	d := &drawing{c: c, x: scaleOf(c.X, c.spreadX(), c.sideMargin(), mostX)}
	for _, p := range c.Panels {
		size := p.Height
		if size == 0 {
			size = panelHeight
		}
		y := scaleOf(p.Y, p.spreadY(), margin, mostY)
		keys := p.keys(y)
		d.scales, d.keys = append(d.scales, y), append(d.keys, keys)
		d.sizes = append(d.sizes, max(size, len(keys)*lineHeight))
	}
	d.right = width - marginEdge - d.keyWidth()
	top := titleSize + 12 + lineHeight*len(c.Windows)
	for _, size := range d.sizes {
		top += lineHeight + 8
		d.tops = append(d.tops, top)
		top += size + 8
	}
	d.bottom = top - 8
	for _, n := range c.Notes {
		d.notes = append(d.notes, wrap(n, (width-2*marginEdge)*2/textSize)...)
	}
	d.height = d.bottom + lineHeight*(3+len(d.notes)) + 6
	if d.crowded() {
		d.height += lineHeight
	}
	return d
}

// key is a name beside the panel: what it names and at which height.
type key struct {
	name   string
	y      float64 // 0 at the bottom of the panel, 1 at its top
	sample func(d *drawing, x, y float64)
}

func (p Panel) keys(y scale) []key {
	var out []key
	for i, l := range p.Lines {
		at := 0.5
		for _, point := range l.Points {
			if point.known() {
				at = y.at(point.Y)
			}
		}
		out = append(out, key{l.Name, at, func(d *drawing, x, y float64) { d.lineSample(i, l.Kind, x, y) }})
	}
	for _, l := range p.Limits {
		out = append(out, key{l.Name, y.at(l.At), func(d *drawing, x, at float64) {
			d.printf(`<path d="M%.1f %.1fh%d" stroke="%s" stroke-width="1.5" stroke-dasharray="3 2"/>`+"\n", x, at, sample, limitInk)
		}})
	}
	for _, b := range p.Bands {
		low, high := y.low, y.high
		if n := len(b.Low); n > 0 {
			low = b.Low[n-1].Y
		}
		if n := len(b.High); n > 0 {
			high = b.High[n-1].Y
		}
		out = append(out, key{b.Name, y.at((low + high) / 2), func(d *drawing, x, at float64) {
			d.printf(`<rect x="%.1f" y="%.1f" width="%d" height="10" fill="%s" stroke="%s"/>`+"\n", x, at-5, sample, bandFill, bandEdge)
		}})
	}
	slices.SortStableFunc(out, func(a, b key) int { return cmp.Compare(b.y, a.y) })
	return out
}

func (d *drawing) keyWidth() int {
	widest := 0
	for _, keys := range d.keys {
		for _, k := range keys {
			widest = max(widest, textWidth(k.name))
		}
	}
	return sample + 14 + min(widest, 240)
}

// textWidth is about how wide a text is drawn; letters of the fonts named are
// 0.56 of their size on average.
func textWidth(s string) int { return len([]rune(s)) * textSize * 56 / 100 }

func (d *drawing) windows() {
	for i, w := range d.c.Windows {
		from, to := d.px(max(w.From, d.x.low)), d.px(min(w.To, d.x.high))
		if !(from <= to) {
			continue
		}
		if to-from < 3 {
			from, to = from-1.5, to+1.5
		}
		top := titleSize + 12 + lineHeight*(i+1)
		d.printf(`<rect x="%.1f" y="%d" width="%.1f" height="%d" fill="%s"/>`+"\n", from, top, to-from, d.bottom-top, markFill)
		d.printf(`<path d="M%.1f %dV%dM%.1f %[2]dV%[3]d" stroke="%[5]s" stroke-dasharray="1 2"/>`+"\n", from, top, d.bottom, to, markEdge)
		x, anchor := (from+to)/2, "middle"
		if half := float64(textWidth(w.Name)) / 2; x+half > width-marginEdge {
			x, anchor = width-marginEdge, "end"
		} else if x-half < marginEdge {
			x, anchor = marginEdge, "start"
		}
		d.text(x, float64(top)-3, anchor, w.Name)
	}
}

func (d *drawing) text(x, y float64, anchor, s string) {
	d.printf(`<text x="%.1f" y="%.1f" text-anchor="%s">%s</text>`+"\n", x, y, anchor, html.EscapeString(s))
}

func (d *drawing) px(x float64) float64 {
	return marginLeft + d.x.at(x)*float64(d.right-marginLeft)
}

func (d *drawing) panel(i int) {
	p, y, top, size := d.c.Panels[i], d.scales[i], float64(d.tops[i]), float64(d.sizes[i])
	py := func(v float64) float64 { return top + (1-y.at(v))*size }
	d.text(marginEdge, top-10, "start", p.Y.heading())
	// What is drawn inside is cut at the edges of the plot.
	d.printf(`<svg x="%d" y="%d" width="%d" height="%d" viewBox="%[1]d %[2]d %[3]d %[4]d" overflow="hidden">`+"\n", marginLeft, d.tops[i], d.right-marginLeft, d.sizes[i])
	for _, b := range p.Bands {
		d.band(b, y, py)
	}
	d.grid(y, py, top, size)
	for _, l := range p.Limits {
		d.printf(`<path d="M%d %.1fH%d" stroke="%s" stroke-width="1.5" stroke-dasharray="3 2"/>`+"\n", marginLeft, py(l.At), d.right, limitInk)
	}
	for j, l := range p.Lines {
		d.line(j, l, py)
	}
	d.printf("</svg>\n")
	d.printf(`<rect x="%d" y="%.0f" width="%d" height="%.0f" fill="none" stroke="%s"/>`+"\n", marginLeft, top, d.right-marginLeft, size, ink)
	for _, t := range y.ticks {
		d.text(marginLeft-6, py(t.At)+4, "end", t.Text)
	}
	if len(y.ticks) == 0 {
		d.text(float64(marginLeft+d.right)/2, top+size/2, "middle", "nothing to draw")
	}
	d.names(d.keys[i], top, size)
}

func (d *drawing) grid(y scale, py func(float64) float64, top, size float64) {
	var path strings.Builder
	for _, t := range y.ticks {
		fmt.Fprintf(&path, "M%d %.1fH%d", marginLeft, py(t.At), d.right)
	}
	for _, t := range d.x.ticks {
		fmt.Fprintf(&path, "M%.1f %.0fv%.0f", d.px(t.At), top, size)
	}
	d.printf(`<path d="%s" stroke="%s" stroke-width="0.7"/>`+"\n", path.String(), gridColour)
}

// band fills between its edges where the upper is above the lower.
func (d *drawing) band(b Band, y scale, py func(float64) float64) {
	var lower, upper []Point
	for _, x := range b.corners(d.x, y) {
		low, high := reaches(b.Low, x, y.low), reaches(b.High, x, y.high)
		if low <= high+(y.high-y.low)*1e-9 {
			lower, upper = append(lower, Point{d.px(x), py(low)}), append(upper, Point{d.px(x), py(high)})
		}
	}
	slices.Reverse(lower)
	if outline := append(upper, lower...); len(outline) > 0 {
		d.printf(`<path d="%sz" fill="%s" fill-opacity="0.7" stroke="%s" stroke-width="0.7"/>`+"\n", joined(outline), bandFill, bandEdge)
	}
}

// corners are where the outline of a band turns: at its points, at the ends of
// the axis, and where its edges cross.
func (b Band) corners(x, y scale) []float64 {
	at := []float64{x.low, x.high}
	for _, edge := range [...][]Point{b.Low, b.High} {
		if len(edge) > 1 {
			for _, p := range edge {
				at = append(at, p.X)
			}
		}
	}
	slices.Sort(at)
	at = slices.Compact(at)
	gap := func(x float64) float64 { return reaches(b.High, x, y.high) - reaches(b.Low, x, y.low) }
	var out []float64
	for i, right := range at {
		if i > 0 {
			if left := at[i-1]; gap(left)*gap(right) < 0 {
				out = append(out, left+(right-left)*gap(left)/(gap(left)-gap(right)))
			}
		}
		out = append(out, right)
	}
	return out
}

// joined is a path through points, begun anew after each that is not known.
func joined(points []Point) string {
	var path strings.Builder
	move := true
	for _, p := range points {
		if !p.known() {
			move = true
			continue
		}
		if move {
			fmt.Fprintf(&path, "M%.1f %.1f", p.X, p.Y)
		} else {
			fmt.Fprintf(&path, "L%.1f %.1f", p.X, p.Y)
		}
		move = false
	}
	return path.String()
}

func (d *drawing) line(i int, l Line, py func(float64) float64) {
	var points []Point
	for _, p := range l.Points {
		points = append(points, Point{d.px(p.X), py(p.Y)})
	}
	stroke := strokes[i%len(strokes)]
	if path := joined(points); path != "" && l.Kind != Scattered {
		d.printf(`<path d="%s" fill="none" stroke="%s" stroke-width="1.8"%s/>`+"\n", path, stroke.colour, dashed(stroke.dash))
	}
	if l.Kind == Joined {
		return
	}
	var marks strings.Builder
	for _, p := range points {
		if p.known() {
			marks.WriteString(shape(i, p.X, p.Y))
		}
	}
	d.printf(`<path d="%s" fill="%s" stroke="%s" stroke-width="1.4"/>`+"\n", marks.String(), paper, stroke.colour)
}

func dashed(dash string) string {
	if dash == "" {
		return ""
	}
	return ` stroke-dasharray="` + dash + `"`
}

// shape is the mark of a panel's line: circle, square, triangle, diamond.
func shape(i int, x, y float64) string {
	switch i % 4 {
	case 0:
		return fmt.Sprintf("M%.1f %.1fa3 3 0 1 0 6 0a3 3 0 1 0 -6 0z", x-3, y)
	case 1:
		return fmt.Sprintf("M%.1f %.1fh6v6h-6z", x-3, y-3)
	case 2:
		return fmt.Sprintf("M%.1f %.1fl4 7h-8z", x, y-4)
	}
	return fmt.Sprintf("M%.1f %.1fl4 4l-4 4l-4 -4z", x, y-4)
}

func (d *drawing) lineSample(i int, kind Kind, x, y float64) {
	stroke := strokes[i%len(strokes)]
	if kind != Scattered {
		d.printf(`<path d="M%.1f %.1fh%d" stroke="%s" stroke-width="1.8"%s/>`+"\n", x, y, sample, stroke.colour, dashed(stroke.dash))
	}
	if kind != Joined {
		d.printf(`<path d="%s" fill="%s" stroke="%s" stroke-width="1.4"/>`+"\n", shape(i, x+sample/2, y), paper, stroke.colour)
	}
}

// names stand beside the plot at the height of what they name, moved apart.
func (d *drawing) names(keys []key, top, size float64) {
	at := make([]float64, len(keys))
	last := top - lineHeight/2
	for i, k := range keys {
		at[i] = max(top+(1-k.y)*size, last+lineHeight)
		last = at[i]
	}
	lowest := top + size - lineHeight/2
	for i := len(at) - 1; i >= 0; i-- {
		at[i] = min(at[i], lowest)
		lowest = at[i] - lineHeight
	}
	for i, k := range keys {
		x := float64(d.right) + 6
		k.sample(d, x, at[i])
		d.text(x+sample+4, at[i]+4, "start", k.name)
	}
}

// crowded says that the texts below the axis do not fit into one row.
func (d *drawing) crowded() bool {
	end := math.Inf(-1)
	for _, t := range d.x.ticks {
		half := float64(textWidth(t.Text))/2 + 3
		if x := d.px(t.At); x-half < end {
			return true
		} else {
			end = x + half
		}
	}
	return false
}

// axis writes what stands below the panels.
func (d *drawing) axis() {
	y, crowded := float64(d.bottom)+lineHeight, d.crowded()
	for i, t := range d.x.ticks {
		row := 0.0
		if crowded {
			row = float64(i%2) * lineHeight
		}
		d.text(d.px(t.At), y+row, "middle", t.Text)
	}
	if crowded {
		y += lineHeight
	}
	y += lineHeight
	d.text(float64(marginLeft+d.right)/2, y, "middle", d.c.X.heading())
	for _, n := range d.notes {
		y += lineHeight
		d.text(marginEdge, y+4, "start", n)
	}
}

// wrap cuts a text into lines of at most so many letters, between words.
func wrap(s string, most int) []string {
	var lines []string
	line := ""
	for _, word := range strings.Fields(s) {
		if line != "" && len([]rune(line))+1+len([]rune(word)) > most {
			lines, line = append(lines, line), ""
		}
		line = strings.TrimPrefix(line+" "+word, " ")
	}
	return append(lines, line)
}
