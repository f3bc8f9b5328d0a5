package terminal

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"feedproof/cmd/internal/facts"
	"feedproof/cmd/internal/guide"
	"feedproof/schema"

	"github.com/charmbracelet/x/ansi"
)

// busy is a sheet with more in it than fits.
func busy(middle int) guide.Page {
	s := guide.Page{Top: []guide.Line{guide.Toned("car", guide.Strong), guide.Text("where")}, Banner: guide.Line{Bar: guide.Careful, Spans: []guide.Span{{Text: " "}, {Text: "▲ FUEL OPEN", Wide: true}}}, Bottom: []guide.Line{{Rule: true}, guide.Text("1 RECORD"), guide.Text("0 leave")}, More: "more"}
	for i := range middle {
		s.Middle = append(s.Middle, guide.Line{Spans: []guide.Span{{Text: fmt.Sprintf("line %d ", i)}, {Text: strings.Repeat("word ", i%30), Tone: guide.Bad}}, Hang: 4})
	}
	return s
}

// A page is exactly as high as the terminal and nowhere wider; what stands
// still is there whatever the middle holds; colour is left out without it.
func TestDrawFits(t *testing.T) {
	for _, size := range [][2]int{{80, 24}, {80, 25}, {40, 24}, {200, 60}, {132, 30}, {100, 43}} {
		for _, middle := range []int{0, 3, 200} {
			for _, o := range []Options{{}, {NoColor: true}, {Plain: true}} {
				s, _ := page(size[0], o)
				text, furthest := s.draw(busy(middle), size[0], size[1])
				rows := strings.Split(text, "\n")
				if len(rows) != size[1] {
					t.Errorf("%v: %d rows", size, len(rows))
				}
				for _, r := range rows {
					if w := ansi.StringWidth(r); w > size[0] {
						t.Errorf("%v: a row of %d: %q", size, w, r)
					}
				}
				plain := ansi.Strip(text)
				for _, want := range []string{"car", "where", "F U E L   O P E N", "1 RECORD", "0 leave"} {
					if !strings.Contains(plain, want) {
						t.Errorf("%v with %d lines lacks %q", size, middle, want)
					}
				}
				if (plain != text) != s.color {
					t.Errorf("%+v: coloured %t", o, plain != text)
				}
				if cut := strings.Contains(plain, " more"); cut != (furthest > 0) || cut != (middle == 200) {
					t.Errorf("%v with %d lines: cut %t, furthest %d", size, middle, cut, furthest)
				}
			}
		}
	}
}

// Scrolled to its end a page shows its last line and says no more of more.
func TestDrawScrolls(t *testing.T) {
	s, _ := page(80, Options{NoColor: true})
	p := busy(100)
	_, furthest := s.draw(p, 80, 24)
	p.Scroll = furthest + 1000
	text, _ := s.draw(p, 80, 24)
	if !strings.Contains(text, "line 99") || strings.Contains(text, "▼") {
		t.Errorf("%s", text)
	}
}

// The banner is three rows high where there is room, for eyes two metres away.
func TestBannerIsHighWhereThereIsRoom(t *testing.T) {
	s, _ := page(80, Options{})
	count := func(height int) int {
		text, _ := s.draw(busy(3), 80, height)
		return strings.Count(text, inks[guide.Careful])
	}
	if low, high := count(24), count(roomy); high <= low {
		t.Errorf("%d pieces of the banner at 24 rows, %d at %d", low, high, roomy)
	}
}

// Every tone that says something has an ink whose letters stand out 4.5 to 1
// or better from its ground (WCAG 2.2, 1.4.3), by the usual colours of
// terminals (xterm, from memory: its defaults of the 16 colours).
func TestInksAreLegible(t *testing.T) {
	xterm := map[string][3]float64{"30": {0, 0, 0}, "97": {255, 255, 255}, "41": {205, 0, 0}, "42": {0, 205, 0}, "43": {205, 205, 0}, "44": {0, 0, 238}}
	seen := 0
	for tone, ink := range inks {
		codes := strings.Split(ink, ";")
		if len(codes) != 3 {
			continue
		}
		seen++
		if r := contrast(xterm[codes[1]], xterm[codes[2]]); r < 4.5 {
			t.Errorf("tone %d: %.1f to 1", tone, r)
		}
	}
	if seen < 4 {
		t.Fatalf("only %d inks have a ground", seen)
	}
	for severity := schema.OK; severity <= schema.Stop; severity++ {
		if len(strings.Split(inks[guide.ToneOf(severity)], ";")) != 3 || facts.Shape(severity) == "" {
			t.Errorf("%s has no ground or shape of its own", severity)
		}
	}
}

// contrast is the ratio of WCAG 2.2, 1.4.3.
func contrast(a, b [3]float64) float64 {
	light := func(c [3]float64) float64 {
		var l float64
		for i, weight := range []float64{0.2126, 0.7152, 0.0722} {
			v := c[i] / 255
			if v <= 0.04045 {
				v /= 12.92
			} else {
				v = math.Pow((v+0.055)/1.055, 2.4)
			}
			l += weight * v
		}
		return l + 0.05
	}
	x, y := light(a), light(b)
	return max(x, y) / min(x, y)
}
