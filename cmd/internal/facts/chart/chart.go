package chart

import "math"

// Chart is panels over one horizontal axis.
type Chart struct {
	Title   string
	About   string // what it shows, for those who do not see it
	X       Axis
	Panels  []Panel
	Windows []Window // across all panels
	Notes   []string // below, each a line or more
}

// Axis is a range of numbers with its name.
type Axis struct {
	Label string
	Unit  string
	// Min and Max are the ends. When they are equal the data decide, and the
	// ends are round.
	Min, Max float64
	// Ticks stand instead of round numbers: names of places, say.
	Ticks []Tick
	// Dates reads the numbers as seconds since 1970 and writes UTC dates.
	Dates bool
}

// Tick is a place on an axis with its text.
type Tick struct {
	At   float64
	Text string
}

// Panel is lines, bands and limits over one vertical axis.
type Panel struct {
	Y      Axis
	Lines  []Line
	Bands  []Band
	Limits []Limit
	Height int // of the plot, px; 0 is 150
}

// Point is a place in a panel.
type Point struct{ X, Y float64 }

func (p Point) known() bool { return !math.IsNaN(p.X-p.Y) && !math.IsInf(p.X-p.Y, 0) }

// Kind is how a line is drawn.
type Kind int

// Kinds of line.
const (
	Joined    Kind = iota
	Marked         // joined, with a mark at each point
	Scattered      // marks alone
)

// Line is points in their order.
type Line struct {
	Name   string
	Points []Point
	Kind   Kind
	Mark   rune // for the terminal; 0 takes a letter of the name
}

// Band is shaded between two edges. An edge of one point is level; an edge
// without points is open to the end of the panel.
type Band struct {
	Name      string
	Low, High []Point
}

// Level is an edge of a [Band] that is the same everywhere.
func Level(y float64) []Point { return []Point{{math.NaN(), y}} }

// Limit is a level that is not to be crossed.
type Limit struct {
	Name string
	At   float64
}

// Window marks a stretch of the horizontal axis, or one place of it when its
// ends are the same.
type Window struct {
	Name     string
	From, To float64
}

// spread is the least range that holds some numbers.
type spread struct{ low, high float64 }

func nothing() spread { return spread{math.Inf(1), math.Inf(-1)} }

func (s spread) empty() bool { return s.low > s.high }

func (s *spread) take(v float64) {
	if !math.IsNaN(v) && !math.IsInf(v, 0) {
		s.low, s.high = min(s.low, v), max(s.high, v)
	}
}

// spreadX is the range of all points' x.
func (c Chart) spreadX() spread {
	s := nothing()
	for _, p := range c.Panels {
		for _, l := range p.Lines {
			for _, point := range l.Points {
				if point.known() {
					s.take(point.X)
				}
			}
		}
	}
	for _, t := range c.X.Ticks {
		s.take(t.At)
	}
	return s
}

// sideMargin keeps marks off the ends of the axis.
func (c Chart) sideMargin() float64 {
	for _, p := range c.Panels {
		for _, l := range p.Lines {
			if l.Kind != Joined {
				return margin / 2
			}
		}
	}
	return 0
}

func (p Panel) spreadY() spread {
	s := nothing()
	for _, l := range p.Lines {
		for _, point := range l.Points {
			if point.known() {
				s.take(point.Y)
			}
		}
	}
	if s.empty() {
		return s
	}
	for _, b := range p.Bands {
		for _, edge := range [...][]Point{b.Low, b.High} {
			for _, point := range edge {
				s.take(point.Y)
			}
		}
	}
	for _, l := range p.Limits {
		s.take(l.At)
	}
	return s
}

// reaches is the edge's value at x: level, or between the points beside x.
func reaches(edge []Point, x, open float64) float64 {
	if len(edge) == 0 {
		return open
	}
	if len(edge) == 1 {
		return edge[0].Y
	}
	for i := 1; i < len(edge); i++ {
		if a, b := edge[i-1], edge[i]; a.X <= x && x <= b.X && b.X > a.X {
			return a.Y + (b.Y-a.Y)*(x-a.X)/(b.X-a.X)
		}
	}
	return math.NaN()
}
