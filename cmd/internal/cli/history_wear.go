package cli

import (
	"fmt"
	"time"

	"feedproof/checklist"
	"feedproof/cmd/internal/sheet"
)

// flowRatio is the reading that is computed: timed flow over the pump's curve.
const flowRatio = "flow ratio"

// wear shows the timed flows of a car's pumps against their curve, and what
// they leave of the margin.
func (s *session) wear(v vehicle) error {
	a, err := s.assess(v)
	if err != nil {
		return err
	}
	w, err := checklist.Wear(a.Car)
	if err != nil {
		return failed("feedproof plan "+quoted(v.Data.Name)+" --help, or complete the part", "%s: its timed flows cannot be held against the curve: %v", v.Data.Name, err)
	}
	page := sheet.NewWearPage(w)
	if s.flags.json {
		return s.JSON(page)
	}
	s.Head("%s: timed flow over the curve of its pumps", v.Data.Name)
	var rows [][]string
	for _, t := range page.Tests {
		rows = append(rows, []string{t.Visit, s.when(t.When.UTC().Format(time.RFC3339)), t.Position, t.Flow, fmt.Sprintf("%.3f", t.Ratio), fmt.Sprintf("%.3f", t.U), t.Mark})
	}
	s.Table([]string{"VISIT", "WHEN", "AT", "FLOW", "RATIO", "U", ""}, rows)
	for _, line := range page.Lines {
		s.Say("%s", line)
	}
	if page.Chart != nil && s.Terminal() {
		for _, line := range page.Chart.Text(s.Columns()) {
			s.Say("%s", line)
		}
	}
	return nil
}
