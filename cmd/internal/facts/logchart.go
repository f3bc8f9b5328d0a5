package facts

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"feedproof/checklist"
	"feedproof/checklist/datalog"
	"feedproof/cmd/internal/facts/chart"
	"feedproof/schema/quantity"
)

// Limits that a chart of a pull shows (L04, L03, L14): what is OK is shaded, a
// line says where the pull is to be aborted.
const (
	chartLow     = 0.10 // bar under the base
	chartAbort   = 0.30 // bar under the base
	chartDuty    = 85.0 // %
	chartStatic  = 95.0 // %
	chartMixture = 0.03 // lambda
	medianTime   = 0.3  // s
	longBlank    = 1.0  // s without a value that break a line

	pressurePanel = 120 // px
	smallPanel    = 75
)

// LogCharts are the worst pull of a log against time and against engine speed:
// rail, manifold and their difference with its limit, duty and lambda below,
// and the worst 0.3 s marked. What the network of the plan expects is drawn
// beside it when it is known. Without a pull it is the whole log against time.
func LogCharts(file string, r datalog.Result, p checklist.Prediction) []chart.Chart {
	if len(r.Worst) < 2 {
		return wholeLog(file, r)
	}
	return []chart.Chart{pullByTime(file, r, p), pullBySpeed(file, r, p)}
}

func wholeLog(file string, r datalog.Result) []chart.Chart {
	v := view{points: r.Overview, x: func(p datalog.Point) float64 { return float64(p.At) }}
	panels := v.panels(datalog.Result{}, checklist.Prediction{}) // the limits of a pull do not hold outside one
	if len(panels) == 0 {
		return nil
	}
	return []chart.Chart{{
		Title: file + " against time", About: "The whole log, which has no loaded pull: rail, manifold and their difference, duty and lambda.",
		X: chart.Axis{Label: "time in the log", Unit: "s"}, Panels: panels,
	}}
}

// PullChart is the worst pull against time, low enough for a printed sheet.
func PullChart(file string, r datalog.Result, p checklist.Prediction) (chart.Chart, bool) {
	if len(r.Worst) < 2 {
		return chart.Chart{}, false
	}
	c := pullByTime(file, r, p)
	for i := range c.Panels {
		c.Panels[i].Height = c.Panels[i].Height * 2 / 3
	}
	return c, true
}

func pullByTime(file string, r datalog.Result, p checklist.Prediction) chart.Chart {
	v := view{points: r.Worst, x: func(p datalog.Point) float64 { return float64(p.At) }}
	c := chart.Chart{
		Title: "Worst pull of " + file + " against time", About: pullInWords(r), X: chart.Axis{Label: "time in the log", Unit: "s"},
		Panels: v.panels(r, p),
	}
	if low := r.LowestDrop; low.Known {
		at := float64(low.At)
		c.Windows = []chart.Window{{Name: lowestText(r), From: at - medianTime, To: at}}
	}
	return c
}

func pullBySpeed(file string, r datalog.Result, p checklist.Prediction) chart.Chart {
	v := bySpeed(r.Worst)
	c := chart.Chart{
		Title: "Worst pull of " + file + " against engine speed", About: pullInWords(r), X: chart.Axis{Label: "engine speed", Unit: "rpm"},
		Panels: v.panels(r, p),
	}
	if low := r.LowestDrop; low.Known {
		from, to := math.Inf(1), math.Inf(-1)
		for _, p := range v.points {
			if at := p.At; at >= low.At-medianTime-0.05 && at <= low.At+0.05 {
				from, to = min(from, rpmOf(p)), max(to, rpmOf(p))
			}
		}
		if from <= to {
			c.Windows = []chart.Window{{Name: lowestText(r), From: from, To: to}}
		}
	}
	return c
}

func rpmOf(p datalog.Point) float64 { return quantity.In(p.Speed, "rpm") }

// lowestText is the mark of the worst 0.3 s.
func lowestText(r datalog.Result) string {
	return fmt.Sprintf("lowest 0.3 s: %s at %s", quantity.Format(r.LowestDrop.Value, "bar", 2), quantity.Format(r.LowestDrop.At, "s", 1))
}

// pullInWords says what a chart of the pull shows.
func pullInWords(r datalog.Result) string {
	text := "Rail pressure, manifold pressure and the pressure across the injectors in the worst loaded pull, with commanded duty and lambda."
	if r.LowestDrop.Known {
		text += " The pressure across the injectors is lowest, " + quantity.Format(r.LowestDrop.Value, "bar", 2) + ", at " + quantity.Format(r.LowestDrop.At, "s", 1) + "."
	}
	if r.Base.Known {
		text += " The base, reference hose off, is " + quantity.Format(r.Base.Value, "bar", 2) + "."
	}
	return text
}

// view is points over a horizontal axis.
type view struct {
	points []datalog.Point
	x      func(datalog.Point) float64
	sorted bool // by x, so that time does not break a line
}

func (v view) panels(r datalog.Result, p checklist.Prediction) []chart.Panel {
	var panels []chart.Panel
	if pressures := v.lines(
		line{"rail, gauge", 'r', barOf(func(p datalog.Point) quantity.Gauge { return p.Rail })},
		line{"manifold, gauge", 'm', func(p datalog.Point) float64 { return (float64(p.Rail) - float64(p.Drop)) / quantity.Bar }},
	); len(pressures) > 0 {
		panels = append(panels, chart.Panel{Y: chart.Axis{Label: "pressure", Unit: "bar"}, Height: pressurePanel, Lines: pressures})
	}
	if across := v.across(r, p); len(across.Lines) > 0 {
		panels = append(panels, across)
	}
	if duty := v.lines(line{"commanded duty", 'c', func(p datalog.Point) float64 { return float64(p.Duty) * 100 }}); len(duty) > 0 {
		panels = append(panels, chart.Panel{Y: chart.Axis{Label: "duty", Unit: "%", Max: 100}, Height: smallPanel, Lines: duty,
			Bands: []chart.Band{{Name: "OK: to 85 %", Low: chart.Level(0), High: chart.Level(chartDuty)}}, Limits: []chart.Limit{{Name: "abort: 95 %", At: chartStatic}}})
	}
	if mixture := v.mixture(); len(mixture.Lines) > 0 {
		panels = append(panels, mixture)
	}
	return panels
}

// across is the pressure across the injectors with its limit.
func (v view) across(r datalog.Result, p checklist.Prediction) chart.Panel {
	out := chart.Panel{Y: chart.Axis{Label: "rail less manifold", Unit: "bar"}, Height: pressurePanel, Lines: v.lines(
		line{"across the injectors", 'd', barOf(func(p datalog.Point) quantity.Difference { return p.Drop })})}
	if planned := v.planned(p); planned.Name != "" && len(out.Lines) > 0 {
		out.Lines = append(out.Lines, planned)
	}
	if base, ok := chartBase(r); ok {
		out.Bands = []chart.Band{{Name: "OK: to 0.10 bar off", Low: chart.Level(base - chartLow), High: chart.Level(base + chartLow)}}
		out.Limits = []chart.Limit{{Name: "abort: 0.30 bar low", At: base - chartAbort}}
	}
	return out
}

func (v view) mixture() chart.Panel {
	target := func(p datalog.Point) float64 { return float64(p.Target) }
	p := chart.Panel{Y: chart.Axis{Label: "lambda"}, Height: smallPanel, Lines: v.lines(
		line{"lambda", 'l', func(p datalog.Point) float64 { return float64(p.Lambda) }}, line{"target", 't', target})}
	low := v.line(line{of: func(p datalog.Point) float64 { return target(p) - chartMixture }})
	high := v.line(line{of: func(p datalog.Point) float64 { return target(p) + chartMixture }})
	if len(low) > 1 && len(p.Lines) > 1 {
		p.Bands = []chart.Band{{Name: "OK: to 0.03 off", Low: low, High: high}}
	}
	return p
}

// chartBase is what the pressure across the injectors is held against, in bar.
func chartBase(r datalog.Result) (float64, bool) {
	switch {
	case r.Base.Known:
		return quantity.In(r.Base.Value, "bar"), true
	case r.Light.Known:
		return quantity.In(r.Light.Value, "bar"), true
	}
	return 0, false
}

// planned is the pressure across the injectors as the network of the plan has it.
func (v view) planned(p checklist.Prediction) chart.Line {
	l := chart.Line{Name: "as planned", Mark: 'p'}
	for i, at := range p.Points {
		if i < len(p.Planned) && !math.IsNaN(v.x(at)) {
			l.Points = append(l.Points, chart.Point{X: v.x(at), Y: float64(p.Planned[i]) / quantity.Bar})
		}
	}
	if len(l.Points) == 0 {
		return chart.Line{}
	}
	if v.sorted {
		slices.SortStableFunc(l.Points, func(a, b chart.Point) int { return cmp.Compare(a.X, b.X) })
	}
	return l
}

// line is a value of the points, with its name and its letter in a terminal.
type line struct {
	name string
	mark rune
	of   func(datalog.Point) float64
}

func barOf[Q ~float64](of func(datalog.Point) Q) func(datalog.Point) float64 {
	return func(p datalog.Point) float64 { return float64(of(p)) / quantity.Bar }
}

// lines are those of the values that were logged.
func (v view) lines(wanted ...line) []chart.Line {
	var out []chart.Line
	for _, l := range wanted {
		if points := v.line(l); len(points) > 0 {
			out = append(out, chart.Line{Name: l.name, Mark: l.mark, Points: points})
		}
	}
	return out
}

// line leaves out the blanks of a slow channel; a long blank breaks the line.
func (v view) line(l line) []chart.Point {
	var out []chart.Point
	last := math.Inf(-1)
	for _, p := range v.points {
		x, y := v.x(p), l.of(p)
		if math.IsNaN(x) || math.IsNaN(y) {
			continue
		}
		if !v.sorted && float64(p.At)-last > longBlank && len(out) > 0 {
			out = append(out, chart.Point{X: x, Y: math.NaN()})
		}
		out, last = append(out, chart.Point{X: x, Y: y}), float64(p.At)
	}
	return out
}
