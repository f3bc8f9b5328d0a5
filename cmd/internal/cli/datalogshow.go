package cli

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"feedproof/checklist"
	"feedproof/cmd/internal/desk"
	"feedproof/cmd/internal/facts"
	"feedproof/cmd/internal/facts/chart"
)

// Of a log's screen.
const (
	chartColumns = 79
	modelsShown  = 3
)

// showLog is what would be recorded.
func (s *session) showLog(page facts.LogPage, charts []chart.Chart) error {
	if s.flags.json {
		return s.JSON(page)
	}
	s.Head("%s (nothing is recorded yet)", page.From)
	var rows [][]string
	for _, c := range page.Columns {
		rows = append(rows, []string{c.Column, c.Channel, c.Unit})
	}
	s.Table([]string{"COLUMN", "CHANNEL", "UNIT"}, rows)
	s.Say("")
	s.logPage(page, charts)
	s.Say("is the mapping right? then add --yes; else --map \"COLUMN=CHANNEL,unit=...\"")
	return nil
}

// logPage shows what a log holds: worst values, what it cannot prove, what it
// looks like, what the plan predicted, and the worst pull as charts.
func (s *session) logPage(page facts.LogPage, charts []chart.Chart) {
	s.Head("%s: %s", page.File, page.Summary)
	var rows [][]string
	for _, w := range page.Worst {
		rows = append(rows, []string{w.Name, w.Value, w.At})
	}
	s.Table([]string{"WORST (0.3 s MEDIAN)", "VALUE", "AT"}, rows)
	for _, p := range page.Unproven {
		s.Say("%s: %s", p.State, p.Text)
	}
	for _, g := range page.Looks {
		s.Say("looks like %s: %s", g.Name, g.Text)
		if len(g.Causes) > 0 {
			s.Say("  likely: %s", strings.Join(g.Causes, "; "))
		}
		s.Say("  next: %s", g.Next)
	}
	s.predictedPage(page.Predicted)
	if page.Beside != nil {
		s.besidePage(*page.Beside)
	}
	for _, c := range charts {
		s.Say("")
		for _, line := range c.Text(chartColumns) {
			fmt.Fprintln(s.Screen.Out, line)
		}
	}
}

// predictedPage says what the network of the plan makes of the pull.
func (s *session) predictedPage(p facts.LogPredicted) {
	s.Say("held against the plan: %s", p.Text)
	if len(p.AsGood) > 0 {
		s.Say("  this pull cannot tell it from: %s", strings.Join(p.AsGood, "; "))
	}
	if p.Next != "" && p.Named != checklist.AsPlanned {
		s.Say("  next: %s", p.Next)
	}
	if len(p.Models) < 2 {
		return
	}
	var rows [][]string
	for _, m := range p.Models[:min(modelsShown, len(p.Models))] {
		rows = append(rows, []string{m.Name, m.RMS, m.Worst, m.Fitted})
	}
	s.Table([]string{"MODEL", "OFF (RMS)", "LOWER BY", "FITTED"}, rows)
}

// besidePage says whether two pulls repeat.
func (s *session) besidePage(b facts.LogBeside) {
	s.Head("beside %s, at the same engine speed and manifold pressure", b.File)
	if len(b.Apart) == 0 {
		s.Say("nothing to compare: the two pulls share no engine speed at the same manifold pressure")
	}
	var rows [][]string
	for _, a := range b.Apart {
		verdict := "repeats"
		if !a.Repeats {
			verdict = "does not repeat"
		}
		rows = append(rows, []string{a.Name, a.By, a.At, a.Within, verdict})
	}
	if len(rows) > 0 {
		s.Table([]string{"VALUE", "FURTHEST APART", "AT", "REPEATS WITHIN", ""}, rows)
	}
}

// writeCharts writes charts as SVG files into a folder.
func (s *session) writeCharts(folder, name string, charts []chart.Chart) error {
	if folder == "" {
		return nil
	}
	if len(charts) == 0 {
		return failed("log rail and manifold pressure", "%s: has nothing to draw", name)
	}
	if err := os.MkdirAll(s.path(folder), 0o755); err != nil {
		return failed("ls -ld "+desk.Quoted(folder), "%s: %v", folder, err)
	}
	stem := strings.TrimSuffix(filepath.Base(name), filepath.Ext(name))
	for i, c := range charts {
		file := filepath.Join(folder, stem+[]string{"-time", "-speed", "-beside-time", "-beside-speed"}[i]+".svg")
		if err := os.WriteFile(s.path(file), c.SVG(), 0o644); err != nil {
			return failed("ls -ld "+desk.Quoted(folder), "%s: %v", file, err)
		}
		if !s.flags.json {
			s.Say("chart written: %s", file)
		}
	}
	return nil
}
