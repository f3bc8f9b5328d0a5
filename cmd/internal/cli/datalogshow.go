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
	"feedproof/cmd/internal/terminal"
)

// Of a log's screen.
const (
	chartColumns = 79
	modelsShown  = 3
)

// showLog is what would be recorded.
func showLog(out *terminal.Screen, page facts.LogPage, charts []chart.Chart) error {
	if out.AsJSON() {
		return out.JSON(page)
	}
	out.Head("%s (nothing is recorded yet)", page.From)
	var rows [][]string
	for _, c := range page.Columns {
		rows = append(rows, []string{c.Column, c.Channel, c.Unit})
	}
	out.Table([]string{"COLUMN", "CHANNEL", "UNIT"}, rows)
	out.Say("")
	logPage(out, page, charts)
	out.Say("is the mapping right? then add --yes; else --map \"COLUMN=CHANNEL,unit=...\"")
	return nil
}

// logPage shows what a log holds: worst values, what it cannot prove, what it
// looks like, what the plan predicted, and the worst pull as charts.
func logPage(out *terminal.Screen, page facts.LogPage, charts []chart.Chart) {
	out.Head("%s: %s", page.File, page.Summary)
	var rows [][]string
	for _, w := range page.Worst {
		rows = append(rows, []string{w.Name, w.Value, w.At})
	}
	out.Table([]string{"WORST (0.3 s MEDIAN)", "VALUE", "AT"}, rows)
	for _, p := range page.Unproven {
		out.Say("%s: %s", p.State, p.Text)
	}
	for _, g := range page.Looks {
		out.Say("looks like %s: %s", g.Name, g.Text)
		if len(g.Causes) > 0 {
			out.Say("  likely: %s", strings.Join(g.Causes, "; "))
		}
		out.Say("  next: %s", g.Next)
	}
	predictedPage(out, page.Predicted)
	if page.Beside != nil {
		besidePage(out, *page.Beside)
	}
	for _, c := range charts {
		out.Say("")
		for _, line := range c.Text(chartColumns) {
			fmt.Fprintln(out.Out, line)
		}
	}
}

// predictedPage says what the network of the plan makes of the pull.
func predictedPage(out *terminal.Screen, p facts.LogPredicted) {
	out.Say("held against the plan: %s", p.Text)
	if len(p.AsGood) > 0 {
		out.Say("  this pull cannot tell it from: %s", strings.Join(p.AsGood, "; "))
	}
	if p.Next != "" && p.Named != checklist.AsPlanned {
		out.Say("  next: %s", p.Next)
	}
	if len(p.Models) < 2 {
		return
	}
	var rows [][]string
	for _, m := range p.Models[:min(modelsShown, len(p.Models))] {
		rows = append(rows, []string{m.Name, m.RMS, m.Worst, m.Fitted})
	}
	out.Table([]string{"MODEL", "OFF (RMS)", "LOWER BY", "FITTED"}, rows)
}

// besidePage says whether two pulls repeat.
func besidePage(out *terminal.Screen, b facts.LogBeside) {
	out.Head("beside %s, at the same engine speed and manifold pressure", b.File)
	if len(b.Apart) == 0 {
		out.Say("nothing to compare: the two pulls share no engine speed at the same manifold pressure")
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
		out.Table([]string{"VALUE", "FURTHEST APART", "AT", "REPEATS WITHIN", ""}, rows)
	}
}

// writeCharts writes charts as SVG files into a folder.
func writeCharts(out *terminal.Screen, in folder, folder, name string, charts []chart.Chart) error {
	if folder == "" {
		return nil
	}
	if len(charts) == 0 {
		return failed("log rail and manifold pressure", "%s: has nothing to draw", name)
	}
	if err := os.MkdirAll(in.path(folder), 0o755); err != nil {
		return failed("ls -ld "+desk.Quoted(folder), "%s: %v", folder, err)
	}
	stem := strings.TrimSuffix(filepath.Base(name), filepath.Ext(name))
	for i, c := range charts {
		file := filepath.Join(folder, stem+[]string{"-time", "-speed", "-beside-time", "-beside-speed"}[i]+".svg")
		if err := os.WriteFile(in.path(file), c.SVG(), 0o644); err != nil {
			return failed("ls -ld "+desk.Quoted(folder), "%s: %v", file, err)
		}
		if !out.AsJSON() {
			out.Say("chart written: %s", file)
		}
	}
	return nil
}
