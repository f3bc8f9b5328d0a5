package facts

import (
	"cmp"
	"math"
	"slices"

	"feedproof/checklist/datalog"
	"feedproof/cmd/internal/facts/chart"
	"feedproof/schema/quantity"
)

// LogBeside is the worst pull of a log beside that of another, of this visit or
// of an earlier one.
type LogBeside struct {
	File  string      `json:"file"`
	Apart []LogRepeat `json:"apart"`
}

// LogRepeat is how far two pulls are apart at the same speed and manifold pressure.
type LogRepeat struct {
	Name    string `json:"name"`
	By      string `json:"by"`
	At      string `json:"at"`
	Within  string `json:"repeats_within"`
	Repeats bool   `json:"repeats"`
}

// How near two pulls are that repeat (common practice).
const (
	repeatDrop   quantity.Difference = 0.05e5
	repeatDuty   quantity.Fraction   = 0.02
	repeatLambda quantity.Lambda     = 0.01
)

// NewLogBeside compares the worst pulls of two logs.
func NewLogBeside(other string, this, that datalog.Result) LogBeside {
	r := datalog.Repeats(this.Worst, that.Worst)
	b := LogBeside{File: other}
	b.Apart = append(b.Apart, apart("across the injectors", "bar", 3, r.Drop, repeatDrop)...)
	b.Apart = append(b.Apart, apart("duty", "%", 1, r.Duty, repeatDuty)...)
	b.Apart = append(b.Apart, apart("lambda", "lambda", 3, r.Lambda, repeatLambda)...)
	return b
}

func apart[Q quantity.Quantity](name, unit string, decimals int, a datalog.Apart[Q], within Q) []LogRepeat {
	if !a.Known {
		return nil
	}
	return []LogRepeat{{
		name, quantity.Format(a.By, unit, decimals), quantity.Format(a.Speed, "rpm", 0), quantity.Format(within, unit, decimals),
		math.Abs(float64(a.By)) <= float64(within),
	}}
}

// BesideCharts are two pulls over each other, against the time since each
// began and against engine speed.
func BesideCharts(file, other string, this, that datalog.Result) []chart.Chart {
	if len(this.Worst) < 2 || len(that.Worst) < 2 {
		return nil
	}
	about := "The worst loaded pull of each log: pressure across the injectors, rail pressure, duty and lambda, one over the other."
	names := [2]string{file, other}
	if file == other {
		names = [2]string{"this", "earlier"}
	}
	return []chart.Chart{
		{Title: file + " beside " + other + ", against time", About: about, X: chart.Axis{Label: "time since the pull began", Unit: "s"},
			Panels: besidePanels(names, sinceStart(this.Worst), sinceStart(that.Worst), chartBaseOf(this))},
		{Title: file + " beside " + other + ", against engine speed", About: about, X: chart.Axis{Label: "engine speed", Unit: "rpm"},
			Panels: besidePanels(names, bySpeed(this.Worst), bySpeed(that.Worst), chartBaseOf(this))},
	}
}

func chartBaseOf(r datalog.Result) []chart.Limit {
	base, ok := chartBase(r)
	if !ok {
		return nil
	}
	return []chart.Limit{{Name: "abort: 0.30 bar low", At: base - chartAbort}}
}

func sinceStart(points []datalog.Point) view {
	start := points[0].At
	return view{points: points, x: func(p datalog.Point) float64 { return float64(p.At - start) }}
}

func bySpeed(points []datalog.Point) view {
	v := view{x: rpmOf, sorted: true}
	for _, p := range points {
		if !math.IsNaN(rpmOf(p)) {
			v.points = append(v.points, p)
		}
	}
	slices.SortStableFunc(v.points, func(a, b datalog.Point) int { return cmp.Compare(a.Speed, b.Speed) })
	return v
}

func besidePanels(names [2]string, this, that view, limits []chart.Limit) []chart.Panel {
	var out []chart.Panel
	for _, w := range []struct {
		panel chart.Panel
		of    func(datalog.Point) float64
	}{
		{chart.Panel{Y: chart.Axis{Label: "across the injectors", Unit: "bar"}, Limits: limits}, barOf(func(p datalog.Point) quantity.Difference { return p.Drop })},
		{chart.Panel{Y: chart.Axis{Label: "rail, gauge", Unit: "bar"}}, barOf(func(p datalog.Point) quantity.Gauge { return p.Rail })},
		{chart.Panel{Y: chart.Axis{Label: "duty", Unit: "%"}, Height: smallPanel}, func(p datalog.Point) float64 { return float64(p.Duty) * 100 }},
		{chart.Panel{Y: chart.Axis{Label: "lambda"}, Height: smallPanel}, func(p datalog.Point) float64 { return float64(p.Lambda) }},
	} {
		w.panel.Lines = append(this.lines(line{names[0], 't', w.of}), that.lines(line{names[1], 'o', w.of})...)
		if len(w.panel.Lines) > 0 {
			out = append(out, w.panel)
		}
	}
	return out
}
