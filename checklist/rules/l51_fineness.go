package rules

import (
	"fmt"

	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/code"
	"feedproof/schema/places"
	"feedproof/schema/quantity"
)

var _ = register(Rule{
	ID: "L51", Title: "fineness of a filter where it stands",
	What:   "Each fitted filter whose fineness was typed: a strainer, and a filter before the pump or in the suction line, against 40 um; the filters after the pump against 12 um, when any of them says how fine it is. And a filter that its papers put on the other side of the pump.",
	Limits: "before the pump from 40 um: OK, finer: HOLD. One after the pump of 12 um or finer: OK, none: HOLD. On the other side of the pump: HOLD",
	Source: "makers' practice: 40 to 150 um before, 10 (5 to 12) um after; injectors: no particle over 35 um (read, makers withheld)",
	Means:  "A fine element before the pump starves it; without one after it, grains reach the injectors.",
	Next:   "40 to 150 um before the pump, 5 to 12 um after it.",
	Words: Words{
		code.Oversized: {"nothing after the pump keeps grains from the injectors", "an element of 12 um or finer after the pump"},
		code.Unfit:     {"the pump starves, or the element is not made for this side of it", "40 to 150 um before the pump, 5 to 12 um after it"},
	},
	Judge: inVisit(judgeFineness),
})

const (
	leastBefore = quantity.Length(40e-6)
	mostAfter   = quantity.Length(12e-6)
)

func judgeFineness(c *state.Car) []schema.Finding {
	var found []schema.Finding
	finest, typed := quantity.Length(0), false
	var after []string
	for _, position := range sortedKeys(c.Fitted) {
		fit := c.Fitted[position]
		if fit.Part == nil || fit.Part.Filter == nil {
			continue
		}
		before := beforePump(position)
		fineness, err := fit.Part.Filter.Fineness.SI()
		f := schema.Finding{Rule: "L51", Subject: position, About: "filter, " + position, Measured: quantity.Format(fineness, "um", 0), Limit: "at least 40 um before the pump", Entries: ids(fit.Entry)}
		misplaced := before && fit.Part.Filter.Stands == schema.AfterPump || !before && fit.Part.Filter.Stands == schema.BeforePump
		switch {
		case misplaced:
			f.Severity, f.Code, f.Measured, f.Limit = schema.Hold, code.Unfit, "made to stand "+string(fit.Part.Filter.Stands), "on its own side of the pump"
			found = append(found, f)
		case err != nil:
		case before:
			if exceeds(float64(leastBefore), float64(fineness)) {
				f.Severity, f.Code = schema.Hold, code.Unfit
			}
			f.Values, f.Limits = []schema.Amount{amount("fineness", fineness)}, []schema.Bound{atLeast("fineness", leastBefore)}
			found = append(found, f)
		default:
			after, typed = append(after, fit.Entry.ID), true
			if finest == 0 || fineness < finest {
				finest = fineness
			}
		}
	}
	if !typed {
		return found
	}
	f := schema.Finding{Rule: "L51", Subject: "after the pump", About: "finest filter after the pump", Measured: fmt.Sprintf("%.0f um", float64(finest)*1e6), Limit: "at most 12 um", Values: []schema.Amount{amount("fineness", finest)}, Limits: []schema.Bound{atMost("fineness", mostAfter)}, Entries: after}
	if exceeds(float64(finest), float64(mostAfter)) {
		f.Severity, f.Code = schema.Hold, code.Oversized
	}
	return append(found, f)
}

// beforePump reports a filter that stands on the suction side.
func beforePump(position string) bool {
	p, known := places.Of(position)
	return known && p.Side == places.Suction
}
