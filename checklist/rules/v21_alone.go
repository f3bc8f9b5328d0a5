package rules

import (
	"fmt"
	"slices"

	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/quantity"
)

var aloneScale = scale{{0.10, schema.Flag}, {0.15, schema.Hold}}

var _ = register(Rule{
	ID: "V-21", Title: "each pump run alone",
	What: "Where several pumps of the plan feed the engine and one was fitted or changed, each is run by itself, at the same pressure. " +
		"Their currents are compared as they were read: what one clamp meter is off, it is off for both. It must be in date.",
	Formula: "difference = (highest current - lowest) / lowest, of as many last readings as there are pumps",
	Limits:  "one reading for each pump, within 10 % of each other; FLAG to 15 %, HOLD beyond",
	Source:  "common practice",
	Means:   "A second pump whose relay never closes is not missed until the boost is up, and then the engine is.",
	Next:    "Pull the fuse of the others, run one, read rail and current; then the next.",
	Judge:   inVisit(judgeAlone),
})

func judgeAlone(c *state.Car) []schema.Finding {
	pumps := aloneWanted(c)
	if pumps < 2 {
		return nil
	}
	f := schema.Finding{
		Rule: "V-21", About: "each pump alone", Limit: fmt.Sprintf("%d pumps, each read alone, within 10 %%", pumps),
		Means: "one of them is weak, starved of volts, or does not run", Next: "compare wire, fuse, volts and strainer of the two",
	}
	read := slices.DeleteFunc(c.All("pump alone"), func(r state.Reading) bool {
		_, gone := invalidated(c, r, "pump", "wiring")
		return gone
	})
	if len(read) < pumps {
		f.Severity, f.Measured, f.Means = schema.Unproven, NotYet, "a pump that never ran alone may not run at all"
		if len(read) > 0 {
			f.Measured = fmt.Sprintf("%d of %d", len(read), pumps)
		}
		f.Next = `run each by itself: feedproof read CAR "pump alone" rail=... current=... volts=...`
		return []schema.Finding{f}
	}
	return []schema.Finding{compareAlone(c, f, read[len(read)-pumps:])}
}

// aloneWanted is how many pumps are to be run alone in this visit.
func aloneWanted(c *state.Car) int {
	pumps := 0
	if c.Plan != nil {
		pumps = c.Plan.Pumps.Count
	}
	if c.Has("e") {
		return max(2, pumps)
	}
	if _, changed := c.ChangedAfter(c.Visit.Entry, "pump"); !changed {
		return 0
	}
	return pumps
}

func compareAlone(c *state.Car, f schema.Finding, readings []state.Reading) schema.Finding {
	var low, high quantity.Current
	trouble := ""
	for i, r := range readings {
		f.Entries = append(f.Entries, r.Entry.ID)
		current, _ := timed[quantity.Current](r, "current")
		if current <= 0 {
			f.Severity, f.Measured = schema.Unproven, "no current was read"
			return f
		}
		if i == 0 {
			low = current
		}
		low, high = min(low, current), max(high, current)
		if trouble == "" {
			trouble = clampTrouble(c, r)
		}
	}
	f.Severity = aloneScale.grade(float64((high - low) / low))
	f.Measured = fmt.Sprintf("%s to %s, %.0f %% apart", quantity.Format(low, "A", 1), quantity.Format(high, "A", 1), 100*float64((high-low)/low))
	if trouble != "" {
		return unproven(f, trouble)
	}
	return f
}

// clampTrouble says why the instrument that read the current proves nothing.
func clampTrouble(c *state.Car, r state.Reading) string {
	v, _ := r.Value("current")
	if v.Gauge == nil {
		return "no gauge is named"
	}
	return gaugeTrouble(c, r, *v.Gauge)
}
