package rules

import (
	"slices"
	"strings"

	"feedproof/checklist/fittings"
	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/code"
	"feedproof/schema/quantity"
)

var _ = register(Rule{
	ID: "L52", Title: "current of a bulkhead stud",
	What:    "The pump's current, read or computed, against what the maker of a fitted part says of its studs; where only thread and metal are known, against a screen.",
	Formula: "screen = stress area x conductivity over copper's x 5 A/mm2",
	Limits:  "at most the rating: OK; above: HOLD; neither rating nor metal known: UNPROVEN",
	Source:  "computed: areas of ISO 898-1 and ASME B1.1 and conductivities from memory, 5 A/mm2 practice; the maker's number wins",
	Means:   "A stud that is too small heats the flange and its seal; stainless carries a fortieth of copper.",
	Next:    "Copper or larger, or the maker's number.",
	Words: Words{
		code.Overloaded: {"the stud is too small for the pump", "a larger one, or of copper, or the maker's number"},
		code.Unknown:    {"nobody knows what the stud carries", "feedproof part receive ID --stud-rating 30A, or --stud-metal copper"},
	},
	Judge: inVisit(judgeStuds),
})

func judgeStuds(c *state.Car) []schema.Finding {
	current, known := quantity.Current(0), false
	if c.Plan != nil {
		current, known = pumpCurrent(c)
	}
	var found []schema.Finding
	for _, position := range sortedKeys(c.Fitted) {
		f := c.Fitted[position]
		if f.Part == nil || !known || strings.Contains(position, "harness") || strings.Contains(position, "wiring") {
			continue
		}
		i := slices.IndexFunc(f.Part.Ends, func(e schema.PartEnd) bool { return strings.HasPrefix(e.End, "stud:") })
		if i < 0 {
			continue
		}
		found = append(found, studFinding(c, position, f, strings.TrimPrefix(f.Part.Ends[i].End, "stud:"), current))
	}
	return found
}

func studFinding(c *state.Car, position string, fit state.Fitted, thread string, current quantity.Current) schema.Finding {
	f := schema.Finding{Rule: "L52", Subject: position, About: "stud, " + position, Measured: amps(current), Values: []schema.Amount{amount("current", current)}, Entries: append(ids(fit.Entry), computed(c)...)}
	d := schema.StudData{}
	if fit.Part.Stud != nil {
		d = *fit.Part.Stud
	}
	most, err := d.Rating.SI()
	f.Limit = "at most " + amps(most) + ", as its maker says"
	if err != nil {
		screen, ok := fittings.StudAmps(thread, d.Metal)
		if !ok {
			f.Severity, f.Code, f.Limit = schema.Unproven, code.Unknown, "a rating, or its metal"
			return f
		}
		most, f.Limit = screen, "at most "+amps(screen)+" for "+thread+" of "+d.Metal+", a screen"
	}
	f.Limits = []schema.Bound{atMost("current", most)}
	if exceeds(float64(current), float64(most)) {
		f.Severity, f.Code = schema.Hold, code.Overloaded
	}
	return f
}
