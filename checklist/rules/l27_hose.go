package rules

import (
	"cmp"
	"fmt"
	"maps"
	"slices"
	"strings"

	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/code"
	"feedproof/schema/quantity"
)

var hoseRatioScale = floorScale{{2.0, schema.Flag}, {1.5, schema.Hold}, {1.2, schema.Block}}

var _ = register(Rule{
	ID: "L27", Title: "working pressure of the hoses",
	What:    "Working pressure of each hose that carries pump pressure over the highest rail pressure of the plan: fitted hoses by their papers, the feed line by the plan while no hose is fitted there. Return, vent, suction and reference hoses are not asked. A fitted hose of which nobody knows what it holds is not proven.",
	Formula: "ratio = working pressure / highest rail gauge pressure",
	Limits:  "OK from 2.0, FLAG from 1.5, HOLD from 1.2, BLOCK below",
	Source:  "common practice",
	Means:   "Pulsation, heat and age eat the reserve of a hose; fittings blow off before it bursts.",
	Next:    "A hose of a higher rating; the maker's number wins.",
	Words: Words{
		code.Outside: {"the hose has too little in hand", "a hose of a higher rating"},
		code.Unknown: {"nobody knows what it holds", "read what is printed on it, or take one that says: feedproof part receive ID --part hose --working ..."},
	},
	Envelope: true,
	Judge:    inVisit(judgeHoseRating),
})

func judgeHoseRating(c *state.Car) []schema.Finding {
	if c.Plan == nil {
		return nil
	}
	highest, ok := c.HighestRail()
	if !ok {
		return nil
	}
	var found []schema.Finding
	for _, h := range pressureHoses(c) {
		f := schema.Finding{
			Rule: "L27", Subject: h.position, About: "working pressure, " + h.position, Limit: "at least 2.0 x " + bar(highest), Entries: append(ids(h.entry), planned(c)...),
			Limits: []schema.Bound{{Name: "ratio", AtLeast: figures(hoseRatioScale[0].above)}},
		}
		working, err := h.working.SI()
		if err != nil {
			f.Severity, f.Code, f.Measured = schema.Unproven, code.Unknown, cmp.Or(h.working.String(), "not written")
		} else {
			over := float64(working / highest)
			f.Values = []schema.Amount{ratio("ratio", over), amount("working", working), amount("highest", highest)}
			f.Severity, f.Measured = hoseRatioScale.grade(over), fmt.Sprintf("%s is %.2f x the highest rail pressure", bar(working), over)
		}
		found = append(found, f)
	}
	return found
}

type pressureHose struct {
	position string
	working  schema.Q[quantity.Gauge]
	entry    schema.Entry
}

// pressureHoses are those that are fitted, by position, and the feed line of a
// plan that speaks of what it holds, while no hose is fitted there.
func pressureHoses(c *state.Car) []pressureHose {
	var out []pressureHose
	for _, position := range slices.Sorted(maps.Keys(c.Fitted)) {
		f := c.Fitted[position]
		if f.Part == nil || f.Part.Hose == nil || withoutPressure(position) {
			continue
		}
		out = append(out, pressureHose{position, f.Part.Hose.WorkingPressure, f.Entry})
	}
	planned := pressureHose{"feed line", c.Plan.Feed.WorkingPressure, c.PlanBy}
	if planned.working.IsZero() || slices.ContainsFunc(out, func(h pressureHose) bool { return h.position == planned.position }) {
		return out
	}
	return append(out, planned)
}

func withoutPressure(position string) bool {
	return slices.ContainsFunc([]string{"return", "vent", "suction", "reference", "overflow", "filler"}, func(word string) bool {
		return strings.Contains(position, word)
	})
}
