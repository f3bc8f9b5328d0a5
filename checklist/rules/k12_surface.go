package rules

import (
	"slices"

	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/code"
	"feedproof/schema/quantity"
)

var (
	hotSurface   = quantity.Celsius(60)
	surfaceScale = scale{{float64(hotSurface), schema.Hold}}
)

var _ = register(Rule{
	ID: "K12", Title: "no hot surface near open fuel",
	What: "Before a joint is opened the hottest surface near the work is read. The reading holds until the engine runs again: with the engine off it only cools. It is compared as it is; a thermometer that is named must be in date. " +
		"Of several openings the last that was not shown cool is named; it is a FLAG once a later one was.",
	Limits: "at most 60 degC (140 degF); beyond: HOLD",
	Source: "common practice",
	Means:  "Exhaust and turbo light what drips on them, long after the engine was stopped.",
	Next:   "Wait or shield it, read again, then open.",
	Words: Words{
		code.Outside: {"a surface near the work can light fuel", coolFirst},
		otherwise:    {"nothing shows that exhaust and turbo were cool", coolFirst},
	},
	Judge: inVisit(judgeSurface),
})

const coolFirst = "wait, read the hottest surface, then open"

func judgeSurface(c *state.Car) []schema.Finding {
	openings := slices.DeleteFunc(c.ToProve(), func(o state.Opening) bool { return o.HotOrCut }) // a tank is cut away from the car
	for i, o := range slices.Backward(openings) {
		f := surfaceBefore(c, o)
		if f.Severity == schema.OK {
			continue
		}
		shownLater := slices.ContainsFunc(openings[i+1:], func(later state.Opening) bool { return surfaceBefore(c, later).Severity == schema.OK })
		if shownLater {
			f.Severity = schema.Flag
		}
		return []schema.Finding{f}
	}
	return nil
}

func surfaceBefore(c *state.Car, o state.Opening) schema.Finding {
	f := schema.Finding{
		Rule: "K12", Subject: o.Entry.ID, Severity: schema.Unproven, Code: code.Missing, About: "hot surface before opening " + o.Joint, Limit: "at most " + celsius(hotSurface), Entries: ids(o.Entry),
		Measured: NotYet, Values: []schema.Amount{called("joint", o.Joint)}, Limits: []schema.Bound{atMost("temperature", hotSurface)},
	}
	r, ok := lastBefore(c, "surface", o.Entry)
	if !ok {
		return f
	}
	m, ok := read[quantity.Temperature](c, r, "temperature")
	switch {
	case !ok:
		return unshown(f, doubtful(code.Numberless), o.Entry, r.Entry)
	case ranBetween(c, r.Entry, o.Entry):
		return unshown(f, doubtful(code.EngineRan), o.Entry, r.Entry)
	}
	f.Entries, f.Values = ids(o.Entry, r.Entry), append(f.Values, asRead("temperature", m))
	f.Measured, f.Severity, f.Code = celsius(m.value), surfaceScale.grade(float64(m.value)), code.Outside
	if m.gauge != "" && m.trouble.is() {
		return unproven(f, m.trouble)
	}
	return f
}
