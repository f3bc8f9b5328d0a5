package cli

import (
	"fmt"
	"time"

	"feedproof/checklist"
	"feedproof/cmd/internal/desk"
	"feedproof/cmd/internal/facts"
	"feedproof/cmd/internal/terminal"
)

// flowRatio is the reading that is computed: timed flow over the pump's curve.
const flowRatio = "flow ratio"

// showWear shows the timed flows of a car's pumps against their curve, and what
// they leave of the margin.
func showWear(d *desk.Desk, out *terminal.Screen, c desk.Car) error {
	a, err := d.Assess(c)
	if err != nil {
		return err
	}
	w, err := checklist.Wear(a.Car)
	if err != nil {
		return failed("feedproof plan "+desk.Quoted(c.Data.Name)+" --help, or complete the part", "%s: its timed flows cannot be held against the curve: %v", c.Data.Name, err)
	}
	page := facts.NewWearPage(w)
	if out.AsJSON() {
		return out.JSON(page)
	}
	out.Head("%s: timed flow over the curve of its pumps", c.Data.Name)
	var rows [][]string
	for _, t := range page.Tests {
		rows = append(rows, []string{t.Visit, when(out, d.Now(), t.When.UTC().Format(time.RFC3339)), t.Position, t.Flow, fmt.Sprintf("%.3f", t.Ratio), fmt.Sprintf("%.3f", t.U), t.Mark})
	}
	out.Table([]string{"VISIT", "WHEN", "AT", "FLOW", "RATIO", "U", ""}, rows)
	for _, line := range page.Lines {
		out.Say("%s", line)
	}
	if page.Chart != nil && out.Terminal() {
		for _, line := range page.Chart.Text(out.Columns()) {
			out.Say("%s", line)
		}
	}
	return nil
}
