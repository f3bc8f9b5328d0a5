package chart

import (
	"bytes"
	"encoding/xml"
	"errors"
	"flag"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
)

var update = flag.Bool("update", false, "write the golden files")

// The numbers of these charts are invented.

func pull() Chart {
	var rail, manifold, drop, duty []Point
	for i := range 60 {
		t := 10 + float64(i)/10
		m := min(0.6+float64(i)*0.06, 1.9)
		r := min(m+3, 4.6)
		rail, manifold, drop = append(rail, Point{t, r}), append(manifold, Point{t, m}), append(drop, Point{t, r - m})
		duty = append(duty, Point{t, 30 + float64(i)*0.7})
	}
	drop[30].Y = math.NaN()
	return Chart{
		Title: `Pull <3> & "what" it shows`, About: "Rail pressure stops at 4.6 bar.",
		X: Axis{Label: "time", Unit: "s"},
		Panels: []Panel{
			{Y: Axis{Label: "pressure", Unit: "bar"}, Lines: []Line{{Name: "rail, gauge", Points: rail}, {Name: "manifold, gauge", Points: manifold}, {Name: "across the injectors", Points: drop}},
				Bands: []Band{{Name: "base less 0.30", Low: Level(2.7), High: Level(3.1)}}},
			{Y: Axis{Label: "duty", Unit: "%", Min: 0, Max: 100}, Height: 75, Lines: []Line{{Name: "commanded duty", Points: duty}}, Limits: []Limit{{"BLOCK above", 95}}},
		},
		Windows: []Window{{Name: "worst 0.3 s: 2.70 bar at 15.7 s", From: 15.4, To: 15.7}},
		Notes:   []string{"Invented numbers."},
	}
}

func deliveryChart() Chart {
	var delivery, demand, measured []Point
	for p := 100.0; p <= 500; p += 25 {
		delivery, demand = append(delivery, Point{p, 420 - p*p/2500}), append(demand, Point{p, 0.72 * p})
	}
	for p := 120.0; p < 420; p += 60 {
		measured = append(measured, Point{p, 416 - p*p/2500})
	}
	return Chart{
		Title: "Delivery against demand", About: "The pump delivers more than is asked for up to 460 kW.", X: Axis{Label: "power", Unit: "kW"},
		Panels: []Panel{{Y: Axis{Label: "flow", Unit: "L/h"}, Height: 240,
			Lines: []Line{{Name: "delivery", Points: delivery}, {Name: "demand", Points: demand}, {Name: "timed flow", Points: measured, Kind: Scattered}},
			Bands: []Band{{Name: "reserve", Low: demand, High: delivery}}}},
		Windows: []Window{{Name: "envelope 420 kW", From: 420, To: 420}},
	}
}

func places() Chart {
	places := []string{"pump outlet", "feed hose end", "filter outlet", "rail inlet", "last injector", "regulator"}
	c := Chart{Title: "From tank to injector", About: "Pressure falls 0.2 bar on the way.", X: Axis{Label: "place along the fuel's path"}}
	line := Line{Name: "full load", Kind: Marked}
	idle := Line{Name: "idle", Kind: Marked}
	for i, p := range places {
		c.X.Ticks = append(c.X.Ticks, Tick{float64(i), p})
		line.Points, idle.Points = append(line.Points, Point{float64(i), 4.9 - 0.04*float64(i)}), append(idle.Points, Point{float64(i), 3.2 - 0.01*float64(i)})
	}
	c.Panels = []Panel{{Y: Axis{Label: "pressure, gauge", Unit: "bar"}, Lines: []Line{line, idle}}}
	return c
}

func years() Chart {
	var base []Point
	for i := range 9 {
		base = append(base, Point{float64(time.Date(2019+i, time.Month(2+i%3), 3, 8, 0, 0, 0, time.UTC).Unix()), 3 - 0.012*float64(i*i)/4})
	}
	return Chart{Title: "Base pressure through the years", About: "It falls slowly.", X: Axis{Label: "date (UTC)", Dates: true},
		Panels: []Panel{{Y: Axis{Label: "base, hose off", Unit: "bar"}, Lines: []Line{{Name: "base", Points: base, Kind: Marked}}, Bands: []Band{{Name: "target 3.00 ± 0.07", Low: Level(2.93), High: Level(3.07)}}}}}
}

func charts() map[string]Chart {
	empty := Chart{Title: "Nothing", About: "Nothing was logged.", X: Axis{Label: "time", Unit: "s"}, Panels: []Panel{{Y: Axis{Label: "pressure", Unit: "bar"}, Lines: []Line{{Name: "rail"}}}}}
	return map[string]Chart{"pull": pull(), "margin": deliveryChart(), "places": places(), "years": years(), "empty": empty}
}

// TestGolden holds the drawings to those that were looked at.
func TestGolden(t *testing.T) {
	for name, c := range charts() {
		for file, got := range map[string][]byte{name + ".svg": c.SVG(), name + ".txt": []byte(strings.Join(c.Text(80), "\n") + "\n")} {
			path := filepath.Join("testdata", file)
			if *update {
				if err := os.WriteFile(path, got, 0o644); err != nil {
					t.Fatal(err)
				}
			}
			want, err := os.ReadFile(path)
			if err != nil {
				t.Fatal(err)
			}
			if diff := cmp.Diff(string(want), string(got)); diff != "" {
				t.Errorf("%s (-want +got):\n%s", path, diff)
			}
		}
	}
}

// TestSVGIsPlain reads each drawing as XML and looks for what a page must not
// get from it, and for what a reader that does not see needs.
func TestSVGIsPlain(t *testing.T) {
	allowed := map[string]bool{"svg": true, "title": true, "desc": true, "rect": true, "path": true, "text": true}
	for name, c := range charts() {
		var texts []string
		inside, elements := "", 0
		r := xml.NewDecoder(bytes.NewReader(c.SVG()))
		for {
			token, err := r.Token()
			if errors.Is(err, io.EOF) {
				break
			}
			if err != nil {
				t.Fatalf("%s: %v", name, err)
			}
			switch e := token.(type) {
			case xml.StartElement:
				inside = e.Name.Local
				if elements++; !allowed[inside] {
					t.Errorf("%s: element %s", name, inside)
				}
				for _, a := range e.Attr {
					if a.Name.Local == "id" || a.Name.Local == "style" || strings.HasPrefix(a.Name.Local, "on") || strings.Contains(a.Value, "NaN") || strings.Contains(a.Value, "Inf") || strings.Contains(a.Value, "%!") {
						t.Errorf("%s: %s %s=%q", name, inside, a.Name.Local, a.Value)
					}
				}
			case xml.CharData:
				if text := strings.TrimSpace(string(e)); text != "" {
					texts = append(texts, inside+":"+text)
				}
			}
		}
		if elements < 8 {
			t.Fatalf("%s: %d elements", name, elements)
		}
		if len(texts) < 2 || texts[0] != "title:"+c.Title || texts[1] != "desc:"+c.About {
			t.Errorf("%s: begins with %q", name, texts)
		}
		all := strings.Join(texts, "\n")
		for _, p := range c.Panels {
			for _, l := range p.Lines {
				if !strings.Contains(all, "text:"+l.Name) {
					t.Errorf("%s: line %q is not named", name, l.Name)
				}
			}
			for _, b := range p.Bands {
				if !strings.Contains(all, "text:"+b.Name) {
					t.Errorf("%s: band %q is not named", name, b.Name)
				}
			}
		}
	}
}

// luminance and contrast are the definitions of WCAG 2.2 (from memory).
func luminance(t *testing.T, colour string) float64 {
	t.Helper()
	n, err := strconv.ParseUint(strings.TrimPrefix(colour, "#"), 16, 32)
	if err != nil || len(colour) != 7 {
		t.Fatalf("%q is not a colour", colour)
	}
	linear := func(c uint64) float64 {
		v := float64(c&0xff) / 255
		if v <= 0.04045 {
			return v / 12.92
		}
		return math.Pow((v+0.055)/1.055, 2.4)
	}
	return 0.2126*linear(n>>16) + 0.7152*linear(n>>8) + 0.0722*linear(n)
}

func contrast(t *testing.T, a, b string) float64 {
	x, y := luminance(t, a), luminance(t, b)
	return (max(x, y) + 0.05) / (min(x, y) + 0.05)
}

func TestContrast(t *testing.T) {
	if got := contrast(t, "#000000", "#ffffff"); math.Abs(got-21) > 1e-9 { // WCAG: 21:1
		t.Fatalf("black on white is %.2f", got)
	}
	for _, ground := range []string{paper, bandFill, markFill} {
		if got := contrast(t, ink, ground); got < 4.5 {
			t.Errorf("text on %s: %.1f", ground, got)
		}
		for i, s := range strokes {
			if got := contrast(t, s.colour, ground); got < 4.5 {
				t.Errorf("line %d on %s: %.1f", i, ground, got)
			}
		}
	}
	seen := map[string]bool{}
	for _, s := range strokes {
		if seen[s.dash] {
			t.Errorf("dash %q twice", s.dash)
		}
		seen[s.dash] = true
	}
}

func TestRoundTicks(t *testing.T) {
	tests := []struct {
		low, high float64
		most      int
		want      string
	}{
		{0, 10, 6, "0 2 4 6 8 10"},
		{2.65, 4.9, 6, "3.0 3.5 4.0 4.5"},
		{-0.3, 0.4, 6, "-0.2 0.0 0.2 0.4"},
		{3000, 7200, 8, "3000 4000 5000 6000 7000"},
		{0.78, 0.86, 6, "0.78 0.80 0.82 0.84 0.86"},
	}
	for _, test := range tests {
		s := scaleOf(Axis{}, spread{test.low, test.high}, 0, test.most)
		var got []string
		for _, tick := range s.ticks {
			got = append(got, tick.Text)
		}
		if strings.Join(got, " ") != test.want || s.low != test.low || s.high != test.high {
			t.Errorf("%g to %g: %q from %g to %g, want %s", test.low, test.high, got, s.low, s.high, test.want)
		}
	}
}

func TestDateTicks(t *testing.T) {
	date := func(y, m, d int) float64 { return float64(time.Date(y, time.Month(m), d, 9, 0, 0, 0, time.UTC).Unix()) }
	tests := []struct {
		low, high float64
		want      string
	}{
		{date(2026, 3, 1), date(2026, 3, 4), "2026-03-02 2026-03-03 2026-03-04"},
		{date(2025, 9, 20), date(2026, 3, 4), "2025-10 2025-11 2025-12 2026-01 2026-02 2026-03"},
		{date(2019, 5, 1), date(2026, 3, 4), "2020 2021 2022 2023 2024 2025 2026"},
	}
	for _, test := range tests {
		var got []string
		for _, tick := range scaleOf(Axis{Dates: true}, spread{test.low, test.high}, 0, 8).ticks {
			got = append(got, tick.Text)
		}
		if strings.Join(got, " ") != test.want {
			t.Errorf("%v: %q", test, got)
		}
	}
}

// TestTextFits holds every line of the terminal to its columns, and shows that
// an overlap is said.
func TestTextFits(t *testing.T) {
	for name, c := range charts() {
		for _, columns := range []int{60, 80, 120} {
			for _, line := range c.Text(columns) {
				if n := len([]rune(line)); n > columns {
					t.Errorf("%s: %d columns of %d: %s", name, n, columns, line)
				}
			}
		}
	}
	same := []Point{{0, 1}, {1, 2}}
	c := Chart{X: Axis{Label: "x"}, Panels: []Panel{{Y: Axis{Label: "y"}, Lines: []Line{{Name: "one", Points: same}, {Name: "other", Points: same}}}}}
	if text := strings.Join(c.Text(60), "\n"); !strings.Contains(text, "o one; t other; * where they meet") {
		t.Error(text)
	}
}

// TestGapBreaks holds that what was not logged is not drawn over.
func TestGapBreaks(t *testing.T) {
	path := joined([]Point{{0, 1}, {1, 1}, {math.NaN(), math.NaN()}, {3, 1}, {4, 1}})
	if want := "M0.0 1.0L1.0 1.0M3.0 1.0L4.0 1.0"; path != want {
		t.Errorf("%s, want %s", path, want)
	}
}

// TestBandStopsAtTheCrossing: between 1 and 2 the edges cross at 1.5.
func TestBandStopsAtTheCrossing(t *testing.T) {
	b := Band{Low: []Point{{0, 0}, {1, 1}, {2, 2}}, High: []Point{{0, 2}, {1, 1.5}, {2, 1.5}}}
	got := b.corners(scale{low: 0, high: 2}, scale{low: 0, high: 2})
	if diff := cmp.Diff([]float64{0, 1, 1.5, 2}, got); diff != "" {
		t.Error(diff)
	}
}

func ExampleChart_Text() {
	c := Chart{Title: "Slope", X: Axis{Label: "manifold", Unit: "bar"}, Panels: []Panel{{Y: Axis{Label: "rail", Unit: "bar"}, Height: 60, Lines: []Line{{Name: "rail", Points: []Point{{0, 3}, {1, 4}}}}}}}
	for _, line := range c.Text(50) {
		fmt.Println(line)
	}
	// Output:
	// Slope
	// rail, bar: r rail
	//       4.0 |                                 rrrrrr
	//       3.5 |                   rrrrrrrrrrrrrr
	//           |      rrrrrrrrrrrrr
	//       3.0 |rrrrrr
	//            ---------------------------------------
	//            0.0               0.5               1.0
	//                         manifold, bar
}
