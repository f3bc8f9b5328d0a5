package rules

import (
	"fmt"
	"slices"

	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/code"
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
	Words: Words{
		code.Missing: {"a pump that never ran alone may not run at all", runAlone},
		code.Few:     {"a pump that never ran alone may not run at all", runAlone},
		code.Outside: {"one of them is weak, starved of volts, or does not run", "compare wire, fuse, volts and strainer of the two"},
	},
	Judge: inVisit(judgeAlone),
})

const runAlone = `run each by itself: feedproof read CAR "pump alone" rail=... current=... volts=...`

func judgeAlone(c *state.Car) []schema.Finding {
	pumps := aloneWanted(c)
	if pumps < 2 {
		return nil
	}
	f := schema.Finding{
		Rule: "V-21", Subject: "pumps", About: "each pump alone", Limit: fmt.Sprintf("%d pumps, each read alone, within 10 %%", pumps),
		Limits: []schema.Bound{atMost("difference", quantity.Fraction(aloneScale[0].above))},
	}
	read := slices.DeleteFunc(c.All("pump alone"), func(r state.Reading) bool {
		_, gone := invalidated(c, r, "pump", "wiring")
		return gone
	})
	if len(read) < pumps {
		f.Severity, f.Measured, f.Code = schema.Unproven, NotYet, code.Missing
		if len(read) > 0 {
			f.Measured, f.Code, f.Values = fmt.Sprintf("%d of %d", len(read), pumps), code.Few, []schema.Amount{howMany("read", len(read)), howMany("pumps", pumps)}
		}
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
	var trouble doubt
	for i, r := range readings {
		f.Entries = append(f.Entries, r.Entry.ID)
		current, _ := timed[quantity.Current](r, "current")
		if current <= 0 {
			f.Severity, f.Code, f.Measured = schema.Unproven, code.Numberless, "no current was read"
			return f
		}
		if i == 0 {
			low = current
		}
		low, high = min(low, current), max(high, current)
		v, _ := r.Value("current")
		trouble = firstOf(trouble, instrumentTrouble(c, r, v))
	}
	f.Severity = aloneScale.grade(float64((high - low) / low))
	f.Measured = fmt.Sprintf("%s to %s, %.0f %% apart", quantity.Format(low, "A", 1), quantity.Format(high, "A", 1), 100*float64((high-low)/low))
	f.Values = []schema.Amount{amount("lowest", low), amount("highest", high), amount("difference", quantity.Fraction((high-low)/low))}
	if trouble.is() {
		return unproven(f, trouble)
	}
	return f
}
