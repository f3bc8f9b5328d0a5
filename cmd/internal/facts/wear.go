package facts

import (
	"fmt"
	"slices"
	"time"

	"feedproof/checklist"
	"feedproof/cmd/internal/facts/chart"
	"feedproof/schema/quantity"
)

// WearPage is the timed flows of a car's pumps against their curve.
type WearPage struct {
	Tests  []WearRow    `json:"tests"`
	Margin float64      `json:"margin"`
	Low    float64      `json:"low"`
	Least  float64      `json:"least"`
	Meets  bool         `json:"meets"`
	Until  string       `json:"until"`
	Lines  []string     `json:"lines"`
	Chart  *chart.Chart `json:"-"`
}

// WearRow is one timed flow.
type WearRow struct {
	Entry    string    `json:"entry"`
	Visit    string    `json:"visit"`
	When     time.Time `json:"when"`
	Position string    `json:"at"`
	Flow     string    `json:"flow"`
	Ratio    float64   `json:"ratio"`
	U        float64   `json:"u"`
	Mark     string    `json:"mark,omitempty"`
}

// NewWearPage lays it out.
func NewWearPage(w checklist.PumpWear) WearPage {
	p := WearPage{Margin: float64(w.Margin), Low: float64(w.Low), Least: float64(w.Level), Meets: w.Meets, Until: w.Outlook()}
	for i, t := range w.Tests {
		row := WearRow{Entry: t.Entry.ID, Visit: t.Visit, When: t.Entry.At, Position: w.Position(t.At), Flow: quantity.Format(t.Flow, "L/h", 1), Ratio: t.Ratio.Value, U: t.Ratio.U}
		if w.Trend != nil && len(w.Trend.Tests) == len(w.Tests) && slices.Contains(w.Trend.Outliers, i) {
			row.Mark = "stands off"
		}
		p.Tests = append(p.Tests, row)
	}
	if len(w.Tests) > 0 {
		p.Lines = append(p.Lines, fmt.Sprintf("flow margin of the plan %.2f with new pumps; by these tests %.2f, at least %.2f (95 %%); least of the plan %.2f", float64(w.New), p.Margin, p.Low, p.Least))
	}
	if t := w.Trend; t != nil {
		per, unit := 1000.0, "1000 km"
		if w.Axis == "days" {
			per, unit = 365, "year"
		}
		p.Lines = append(p.Lines, fmt.Sprintf("the ratio changes by %+.4f +- %.4f each %s (median of all pairs %+.4f); chi2/nu %.2f", t.Line.Slope*per, t.Line.SlopeUncertainty()*per, unit, t.Median*per, t.Line.ChiSquared/float64(t.Line.Freedom)))
		p.Chart = wearChart(w)
	}
	p.Lines = append(p.Lines, w.Outlook())
	for _, why := range w.Skipped {
		p.Lines = append(p.Lines, "left out, "+why)
	}
	return p
}

func wearChart(w checklist.PumpWear) *chart.Chart {
	t := w.Trend
	points := func(of func(x float64) float64, to float64) (line []chart.Point) {
		from := w.Tests[0].At
		for i := range 41 {
			x := from + (to-from)*float64(i)/40
			line = append(line, chart.Point{X: x, Y: of(x)})
		}
		return line
	}
	tests := chart.Line{Name: "tests", Kind: chart.Scattered, Mark: 'o'}
	for _, x := range w.Tests {
		tests.Points = append(tests.Points, chart.Point{X: x.At, Y: float64(w.New) * x.Ratio.Value})
	}
	to := max(w.Until, t.Last())
	return &chart.Chart{
		Title: "Flow margin by timed flows", About: w.Outlook(), X: chart.Axis{Label: map[string]string{"km": "distance", "days": "time"}[w.Axis], Unit: w.Axis},
		Panels: []chart.Panel{{Y: chart.Axis{Label: "flow margin"}, Lines: []chart.Line{
			{Name: "line", Mark: '.', Points: points(func(x float64) float64 { return float64(w.New) * t.Line.At(x) }, to)},
			{Name: "lower bound", Mark: '-', Points: points(func(x float64) float64 { return float64(w.New) * t.Low(x) }, to)}, tests,
		}, Limits: []chart.Limit{{Name: "least of the plan", At: float64(w.Level)}}}},
	}
}
