package sheet

import (
	"fmt"
	"math"
	"strings"

	"feedproof/checklist/datalog"
	"feedproof/checklist/rules"
	"feedproof/schema/quantity"
)

// LogPage is what a datalog holds, for a screen or as JSON.
type LogPage struct {
	File     string      `json:"file"`
	SHA256   string      `json:"sha256"`
	Summary  string      `json:"summary"`
	Columns  []LogColumn `json:"columns"`
	Worst    []LogWorst  `json:"worst"`
	Unproven []LogProof  `json:"unproven"`
	Looks    []LogLook   `json:"looks_like"`
	Chart    []string    `json:"chart"`
}

// LogColumn is a column and what it was taken for.
type LogColumn struct {
	Column  string `json:"column"`
	Channel string `json:"channel"`
	Unit    string `json:"unit"`
}

// LogWorst is a worst value and its time in the log.
type LogWorst struct {
	Name  string `json:"name"`
	Value string `json:"value"`
	At    string `json:"at"`
}

// LogProof is what the log cannot prove, and why.
type LogProof struct {
	Check string `json:"check"`
	State string `json:"state"`
	Text  string `json:"text"`
}

// LogLook is a fault that the log looks like.
type LogLook struct {
	ID     string   `json:"id"`
	Name   string   `json:"name"`
	Text   string   `json:"text"`
	Causes []string `json:"causes"`
	Next   string   `json:"next"`
}

// NewLog lays a log's result out.
func NewLog(file string, r datalog.Result) LogPage {
	p := LogPage{File: file, SHA256: r.Mapping.SHA256, Summary: logSummary(r), Chart: pullChart(r.Worst)}
	for _, c := range r.Mapping.Columns {
		if c.Channel != datalog.NotUsed {
			p.Columns = append(p.Columns, LogColumn{c.Column, string(c.Channel), strings.TrimSpace(c.Unit + " " + string(c.Sensor))})
		}
	}
	for _, v := range rules.LogValues(r) {
		p.Worst = append(p.Worst, LogWorst{v.Name, threeDecimals(v.Value) + " " + v.Unit, v.At + " s"})
	}
	for _, q := range r.Proofs {
		if q.State != datalog.Proven {
			p.Unproven = append(p.Unproven, LogProof{q.Check, string(q.State), q.Check + ": " + q.Text})
		}
	}
	for _, g := range r.Signatures {
		if g.State == datalog.Seen {
			p.Looks = append(p.Looks, LogLook{g.ID, g.Name, g.Text, g.Causes, g.Next})
		}
	}
	return p
}

// threeDecimals cuts a number for the screen; the entry keeps all its digits.
func threeDecimals(number string) string {
	whole, decimals, ok := strings.Cut(number, ".")
	if !ok || len(decimals) <= 3 {
		return number
	}
	return whole + "." + decimals[:3]
}

func logSummary(r datalog.Result) string {
	text := fmt.Sprintf("%d rows over %s at %.0f a second, %d loaded pulls", r.Reading.Rows, quantity.Format(r.Timing.Length, "s", 1), float64(r.Timing.Rate), r.Loaded)
	if r.Reading.Bad > 0 {
		text += fmt.Sprintf(", %d bad rows left out (first: line %d)", r.Reading.Bad, r.Reading.BadRows[0].Line)
	}
	return text
}

// Size of the chart of the worst pull.
const (
	pullColumns = 60
	pullRows    = 10
)

// pullChart draws rail (r), manifold gauge (m) and their difference (d) over
// the worst pull.
func pullChart(points []datalog.Point) []string {
	if len(points) < 2 {
		return nil
	}
	grid := make([][]byte, pullRows)
	for i := range grid {
		grid[i] = []byte(strings.Repeat(" ", pullColumns))
	}
	top := 0.0
	for _, p := range points {
		for _, v := range curves(p) {
			top = math.Max(top, v)
		}
	}
	if top <= 0 {
		return nil
	}
	for i, p := range points {
		column := i * (pullColumns - 1) / (len(points) - 1)
		for k, v := range curves(p) {
			if v >= 0 {
				row := pullRows - 1 - int(math.Round(v/top*(pullRows-1)))
				grid[row][column] = "mrd"[k]
			}
		}
	}
	var out []string
	for i, row := range grid {
		out = append(out, strings.TrimRight(fmt.Sprintf("%6.2f bar |%s", top*float64(pullRows-1-i)/(pullRows-1), row), " "))
	}
	first, last := points[0].At, points[len(points)-1].At
	return append(out, fmt.Sprintf("%10s +%s", "", strings.Repeat("-", pullColumns)),
		fmt.Sprintf("%11s %s to %s: r rail, m manifold gauge, d across the injectors", "", quantity.Format(first, "s", 1), quantity.Format(last, "s", 1)))
}

// curves are manifold, rail and difference in bar; NaN where not logged.
func curves(p datalog.Point) [3]float64 {
	rail, drop := float64(p.Rail)/quantity.Bar, float64(p.Drop)/quantity.Bar
	return [3]float64{rail - drop, rail, drop}
}
