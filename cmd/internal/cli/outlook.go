package cli

import (
	"fmt"
	"strings"

	"feedproof/cmd/internal/facts"
	"feedproof/cmd/internal/terminal"
)

// showOutlook shows how sure the plan is, what gives out first, what a change
// would buy, and delivery beside demand.
func showOutlook(out *terminal.Screen, o facts.Outlook) {
	howSure(out, o)
	out.Say("")
	if o.Ends == "" {
		out.Head("What gives out first: %s, at %s", o.Limiting, o.Supported)
	} else {
		out.Head("What gives out first: not known beyond %s", o.Supported)
		out.Say("%s: %s", o.Limiting, o.Ends)
	}
	var rows [][]string
	for _, i := range o.Items {
		state := "within"
		if !i.OK {
			state = "OUTSIDE"
		}
		rows = append(rows, []string{i.Item, i.Value, i.Limit, state, i.Power})
	}
	out.Table([]string{"WHAT", "NOW", "LIMIT", "", "GIVES OUT AT"}, rows)
	out.Say("")
	out.Head("What one change would buy (ask with --what-if)")
	rows = nil
	for _, l := range o.Levers {
		rows = append(rows, []string{l.Change, l.Result})
	}
	out.Table([]string{"CHANGE", "SUPPORTED POWER"}, rows)
	out.Say("")
	out.Head("Delivery beside demand over power")
	for _, line := range o.Chart {
		out.Say("%s", line)
	}
}

// howSure shows the ranges, or why there are none.
func howSure(out *terminal.Screen, o facts.Outlook) {
	out.Say("")
	if o.Unsure != "" {
		out.Head("How sure: not known")
		out.Say("%s", o.Unsure)
		return
	}
	out.Head("How sure, 95 times in 100 (%s)", o.Method)
	var rows [][]string
	for _, r := range o.Ranges {
		rows = append(rows, []string{r.Name, fmt.Sprintf("%s (%s to %s)", r.Best, r.Low, r.High)})
	}
	out.Table([]string{"WHAT", "VALUE (RANGE)"}, rows)
	if len(o.Shares) > 0 {
		out.Say("the margin's range comes mostly from: %s", strings.Join(o.Shares, ", "))
	}
}
