package facts

import (
	"bytes"
	"math"
	"strings"
	"testing"

	"feedproof/checklist"
	"feedproof/checklist/datalog"
	"feedproof/checklist/datalogtest"
	"feedproof/cmd/internal/facts/chart"
	"feedproof/schema/quantity"
)

// readInvented is what is read from an invented log of a car with a fault.
func readInvented(t *testing.T, f datalogtest.Fault) datalog.Result {
	t.Helper()
	file := datalogtest.Render(datalogtest.Example(f).Drive().Shots(), datalogtest.Columns, datalogtest.Plain())
	p, err := datalog.Propose(bytes.NewReader(file))
	if err != nil {
		t.Fatal(err)
	}
	for i, c := range p.Mapping.Columns {
		column, _ := datalogtest.Named(datalogtest.Columns, c.Column)
		p.Mapping.Columns[i].Sensor, p.Mapping.Columns[i].Events = datalog.Sensor(column.Sensor), column.Events
	}
	r, err := datalog.Analyse(bytes.NewReader(file), p.Mapping, datalog.Conditions{HoseOff: datalog.Span{From: 3, To: 11}})
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// TestLogCharts: the worst pull has rail, manifold, difference, duty and lambda,
// the limit of the difference, and the worst 0.3 s at its time and speed.
func TestLogCharts(t *testing.T) {
	r := readInvented(t, datalogtest.Relief)
	p := checklist.Prediction{Points: r.Worst[:2], Planned: []quantity.Difference{3e5, 3e5}}
	charts := LogCharts("run.csv", r, p)
	if len(charts) != 2 {
		t.Fatalf("%d charts", len(charts))
	}
	for _, c := range charts {
		var names []string
		for _, panel := range c.Panels {
			for _, l := range panel.Lines {
				names = append(names, l.Name)
			}
		}
		if got := strings.Join(names, ", "); got != "rail, gauge, manifold, gauge, across the injectors, as planned, commanded duty, lambda, target" {
			t.Errorf("%s: %s", c.Title, got)
		}
		if len(c.Panels[1].Bands) != 1 || math.Abs(c.Panels[1].Bands[0].Low[0].Y-2.9) > 0.01 || math.Abs(c.Panels[1].Limits[0].At-2.7) > 0.01 {
			t.Errorf("%s: limits %+v", c.Title, c.Panels[1])
		}
		if len(c.Windows) != 1 || !strings.HasPrefix(c.Windows[0].Name, "lowest 0.3 s: 2.6") {
			t.Errorf("%s: window %+v", c.Title, c.Windows)
		}
		if text := c.Text(79); len(text) < 20 || !bytes.Contains(c.SVG(), []byte("abort: 0.30 bar low")) {
			t.Errorf("%s is not drawn:\n%s", c.Title, strings.Join(text, "\n"))
		}
	}
	if w := charts[0].Windows[0]; math.Abs(w.To-float64(r.LowestDrop.At)) > 1e-9 || math.Abs(w.To-w.From-0.3) > 1e-9 {
		t.Errorf("in time %+v, lowest at %v", w, r.LowestDrop.At)
	}
	if w := charts[1].Windows[0]; w.From < 3900 || w.To > 7200 {
		t.Errorf("in speed %+v", w)
	}
	if none := LogCharts("run.csv", datalog.Result{}, p); none != nil {
		t.Errorf("without a pull: %v", none)
	}
}

// TestWholeLog: an idle run is drawn whole, with the engine off and its hose off.
func TestWholeLog(t *testing.T) {
	r := readInvented(t, datalogtest.Healthy)
	r.Worst = nil
	charts := LogCharts("idle.csv", r, checklist.Prediction{})
	if len(charts) != 1 || charts[0].Title != "idle.csv against time" || len(charts[0].Windows) != 0 || len(charts[0].Panels) != 4 {
		t.Fatalf("%+v", charts)
	}
	if points := charts[0].Panels[0].Lines[0].Points; len(points) < 100 || points[0].X > 1 {
		t.Errorf("%d points from %v", len(points), points[0])
	}
}

// TestLogBeside: a pull lies over itself and apart from one with a fault.
func TestLogBeside(t *testing.T) {
	healthy, relief := readInvented(t, datalogtest.Healthy), readInvented(t, datalogtest.Relief)
	for _, a := range NewLogBeside("same.csv", healthy, healthy).Apart {
		if !a.Repeats || !strings.Contains(a.By, "0.0") {
			t.Errorf("beside itself: %+v", a)
		}
	}
	b := NewLogBeside("relief.csv", healthy, relief)
	if len(b.Apart) != 3 || b.Apart[0].Repeats || !b.Apart[1].Repeats || b.Apart[2].Repeats {
		t.Errorf("a relief takes pressure and lambda, not duty: %+v", b.Apart)
	}
	charts := BesideCharts("a.csv", "b.csv", healthy, relief)
	if len(charts) != 2 || len(charts[0].Panels) != 4 || charts[0].Panels[0].Lines[0].Name != "a.csv" || charts[0].Panels[0].Lines[1].Name != "b.csv" {
		t.Fatalf("%+v", charts)
	}
	if first := charts[0].Panels[0].Lines[1].Points[0]; first.X != 0 {
		t.Errorf("a pull begins at %v", first)
	}
}

// TestLongBlankBreaksLine: a slow channel is joined over its blanks, and not
// over a second without a value.
func TestLongBlankBreaksLine(t *testing.T) {
	nan := quantity.Lambda(math.NaN())
	v := view{x: func(p datalog.Point) float64 { return float64(p.At) }, points: []datalog.Point{
		{At: 0, Lambda: 0.8}, {At: 0.5, Lambda: nan}, {At: 0.9, Lambda: 0.8}, {At: 3, Lambda: 0.8}}}
	got := v.line(line{of: func(p datalog.Point) float64 { return float64(p.Lambda) }})
	want := []chart.Point{{X: 0, Y: 0.8}, {X: 0.9, Y: 0.8}, {X: 3, Y: math.NaN()}, {X: 3, Y: 0.8}}
	if len(got) != len(want) || !math.IsNaN(got[2].Y) || got[3] != want[3] {
		t.Errorf("%v, want %v", got, want)
	}
}
