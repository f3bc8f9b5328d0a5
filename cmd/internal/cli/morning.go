package cli

import (
	"fmt"

	"feedproof/cmd/internal/desk"
	"feedproof/cmd/internal/terminal"
)

// mostShown bounds a list on the board; the question behind it has them all.
const mostShown = 8

func showMorning(out *terminal.Screen, m desk.Morning) {
	var open, rechecks, tools, waivers, releases, lots, carriers [][]string
	for _, o := range m.Open {
		open = append(open, []string{out.Short(o.Severity), o.Car, desk.Plural(o.Days, "day"), o.Finding.Name() + ": " + o.Finding.Measured})
	}
	for _, r := range m.Rechecks {
		rechecks = append(rechecks, []string{desk.Describe([]string{r.Car, r.Plate}), r.Date, lateness(r.Days), r.What})
	}
	for _, t := range m.Tools {
		tools = append(tools, []string{t.Gauge, t.Name, t.State})
	}
	for _, w := range m.Waivers {
		waivers = append(waivers, []string{desk.Describe([]string{w.Car, w.Plate}), w.Date, lateness(w.Days), w.What})
	}
	for _, r := range m.Releases {
		releases = append(releases, []string{desk.Describe([]string{r.Car, r.Plate}), r.By})
	}
	for _, l := range m.Lots {
		lots = append(lots, []string{l.Part, l.Since, desk.Joined(l.Name, l.Lot, l.Why)})
	}
	for _, c := range m.Carriers {
		told := "owner NOT TOLD: feedproof part quarantine " + c.Part + " --told " + desk.Quoted(c.Car)
		if c.Told != "" {
			told = "owner told " + c.Told
		}
		carriers = append(carriers, []string{desk.Describe([]string{c.Car, c.Plate}), c.Part, c.Position, told})
	}
	few(out, "open", "feedproof check CAR", []string{"", "CAR", "FOR", "WHAT"}, open)
	few(out, "re-checks", "feedproof ask rechecks", []string{"CAR", "DUE", "", "WHAT"}, rechecks)
	few(out, "instruments", "feedproof gauge list", []string{"GAUGE", "NAME", "NEEDS"}, tools)
	few(out, "waivers", "feedproof ask waivers", []string{"CAR", "ENDS", "", "FINDING"}, waivers)
	few(out, "signed off today", "feedproof board | more", []string{"CAR", "BY"}, releases)
	few(out, "lots on hold", "feedproof part list", []string{"PART", "SINCE", "WHY"}, lots)
	few(out, "cars with a lot on hold", "feedproof ask lot LOT", []string{"CAR", "PART", "WHERE", "OWNER"}, carriers)
}

// few shows the first rows of a section, and where the rest is; in a pipe all.
func few(out *terminal.Screen, title, rest string, header []string, rows [][]string) {
	if left := len(rows) - mostShown; left > 0 && out.Terminal() {
		section(out, fmt.Sprintf("%s (%d)", title, len(rows)), header, rows[:mostShown])
		out.Say("%d more: %s", left, rest)
		return
	}
	section(out, title, header, rows)
}

func lateness(days int) string {
	switch {
	case days > 0:
		return desk.Plural(days, "day") + " late"
	case days == 0:
		return "today"
	}
	return "in " + desk.Plural(-days, "day")
}
