package rules

import (
	"cmp"
	"fmt"
	"maps"
	"slices"

	"feedproof/checklist/fittings"
	"feedproof/checklist/fuel"
	"feedproof/checklist/planning"
	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/code"
	"feedproof/schema/places"
	"feedproof/schema/quantity"
)

var hoseRatioScale = floorScale{{2.0, schema.Flag}, {1.5, schema.Hold}, {1.2, schema.Block}}

var _ = register(Rule{
	ID: "L27", Title: "working pressure of the hoses",
	What: "Working pressure of each hose that carries pump pressure over the highest pressure that the pump's outlet sees: at full load and at idle, at sea level and at the envelope's altitude, with cold and hot fuel. Fitted hoses by their papers, the feed line by the plan while no hose is fitted there. " +
		"Return, vent, suction and reference hoses are not asked. Where only the kind of a hose is known its standard counts, and the finding says so; the print of the maker wins. A fitted hose of which nobody knows what it holds is not proven.",
	Formula: "ratio = working pressure / highest gauge pressure at the pump; working pressure >= relief of the pump, which a shut line puts on it",
	Limits:  "OK from 2.0, FLAG from 1.5, HOLD from 1.2 or under the relief, BLOCK below",
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
	highest, known := planning.Highest(c)
	if !known {
		return nil
	}
	var found []schema.Finding
	for _, h := range pressureHoses(c) {
		f := schema.Finding{
			Rule: "L27", Subject: h.position, About: "working pressure, " + h.position, Limit: "at least 2.0 x " + bar(highest.Outlet), Entries: append(ids(h.entry), builtAs(c)...),
			Limits: []schema.Bound{{Name: "ratio", AtLeast: figures(hoseRatioScale[0].above)}},
		}
		working, unread := h.working.SI()
		if unread != nil && h.standard > 0 {
			f = gradeHose(f, h.standard, highest)
			f.Measured += ", by the standard of " + h.kind + " alone"
		} else if unread != nil {
			f.Severity, f.Code, f.Measured = schema.Unproven, code.Unknown, cmp.Or(h.working.String(), "not written")
		} else {
			f = gradeHose(f, working, highest)
		}
		found = append(found, f)
	}
	return found
}

func gradeHose(f schema.Finding, working quantity.Gauge, h fuel.Highest) schema.Finding {
	over := float64(working / h.Outlet)
	f.Values = []schema.Amount{ratio("ratio", over), amount("working", working), amount("highest", h.Outlet)}
	f.Severity, f.Measured = hoseRatioScale.grade(over), fmt.Sprintf("%s is %.2f x the highest pressure at the pump, %s (%s)", bar(working), over, bar(h.Outlet), h.OutletAt)
	if h.DeadheadKnown && exceeds(float64(h.Deadhead), float64(working)) {
		f.Severity, f.Measured = max(f.Severity, schema.Hold), f.Measured+", and less than the relief of "+bar(h.Deadhead)
		f.Values = append(f.Values, amount("relief", h.Deadhead))
	}
	return f
}

type pressureHose struct {
	position string
	working  schema.Q[quantity.Gauge]
	entry    schema.Entry
	kind     string
	standard quantity.Gauge // what the standard of its kind allows; 0: not known
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
		kind, _ := fittings.FindHose(f.Part.Hose.Kind)
		out = append(out, pressureHose{position, f.Part.Hose.WorkingPressure, f.Entry, kind.Kind, kind.WorkingAt(f.Part.Hose.Bore.Or(0))})
	}
	planned := pressureHose{position: "feed line", working: c.Plan.Feed.WorkingPressure, entry: c.PlanBy}
	if planned.working.IsZero() || slices.ContainsFunc(out, func(h pressureHose) bool { return h.position == planned.position }) {
		return out
	}
	return append(out, planned)
}

// withoutPressure reports a position that stands under no pump's pressure; one
// that no table has may.
func withoutPressure(position string) bool {
	p, known := places.Of(position)
	return known && p.Side != places.Feed && p.Side != places.Lift
}
