package cli

import (
	"fmt"
	"strings"

	"feedproof/cmd/internal/facts"
)

// outlook shows how sure the plan is, what gives out first, what a change
// would buy, and delivery beside demand.
func (s *session) outlook(o facts.Outlook) {
	s.howSure(o)
	s.Say("")
	if o.Ends == "" {
		s.Head("What gives out first: %s, at %s", o.Limiting, o.Supported)
	} else {
		s.Head("What gives out first: not known beyond %s", o.Supported)
		s.Say("%s: %s", o.Limiting, o.Ends)
	}
	var rows [][]string
	for _, i := range o.Items {
		state := "within"
		if !i.OK {
			state = "OUTSIDE"
		}
		rows = append(rows, []string{i.Item, i.Value, i.Limit, state, i.Power})
	}
	s.Table([]string{"WHAT", "NOW", "LIMIT", "", "GIVES OUT AT"}, rows)
	s.Say("")
	s.Head("What one change would buy (ask with --what-if)")
	rows = nil
	for _, l := range o.Levers {
		rows = append(rows, []string{l.Change, l.Result})
	}
	s.Table([]string{"CHANGE", "SUPPORTED POWER"}, rows)
	s.Say("")
	s.Head("Delivery beside demand over power")
	for _, line := range o.Chart {
		s.Say("%s", line)
	}
}

// howSure shows the ranges, or why there are none.
func (s *session) howSure(o facts.Outlook) {
	s.Say("")
	if o.Unsure != "" {
		s.Head("How sure: not known")
		s.Say("%s", o.Unsure)
		return
	}
	s.Head("How sure, 95 times in 100 (%s)", o.Method)
	var rows [][]string
	for _, r := range o.Ranges {
		rows = append(rows, []string{r.Name, fmt.Sprintf("%s (%s to %s)", r.Best, r.Low, r.High)})
	}
	s.Table([]string{"WHAT", "VALUE (RANGE)"}, rows)
	if len(o.Shares) > 0 {
		s.Say("the margin's range comes mostly from: %s", strings.Join(o.Shares, ", "))
	}
}
