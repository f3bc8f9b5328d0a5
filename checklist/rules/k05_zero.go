package rules

import (
	"math"

	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/quantity"
)

const zeroBand = quantity.Gauge(0.05 * quantity.Bar)

var _ = register(Rule{
	ID: "K05", Title: "no pressure before a pressurised joint is opened", Never: true,
	What: "Before a joint that carries pressure is opened the gauge must read zero, after the pump last ran. " +
		"Pulling the fuse and running to stall can leave pressure between check valve and regulator.",
	Formula: "|reading - reading of the gauge vented|, simple acceptance: the reading's own uncertainty is not added, because no shop gauge resolves a third of 0.05 bar at zero",
	Limits:  "within 0.05 bar (0.7 psi) of zero",
	Source:  "common practice",
	Means:   "Fuel under pressure sprays on the person and on whatever is hot.",
	Next:    "Bleed into a rag and a closed container, read the gauge again, then open slowly, wrapped.",
	Judge:   judgeZero,
})

func judgeZero(c *state.Car) []schema.Finding {
	var found []schema.Finding
	openings := c.VisitOpenings()
	for i, o := range openings {
		if !o.Pressured {
			continue
		}
		f, proven := zeroBefore(c, o)
		if proven {
			continue
		}
		if late, ok := secondClass(c, o, zeroBefore); ok {
			found = append(found, late)
			continue
		}
		f.Severity = openingSeverity(c, openings, i, func(later state.Opening) bool {
			if !later.Pressured {
				return false
			}
			_, ok := zeroBefore(c, later)
			return ok
		})
		found = append(found, f)
	}
	return found
}

func zeroBefore(c *state.Car, o state.Opening) (schema.Finding, bool) {
	f := schema.Finding{
		Rule: "K05", About: "pressure before opening " + o.Joint, Limit: "0 +- " + bar(zeroBand), Entries: ids(o.Entry),
		Means: "the joint was not shown free of pressure when it was opened",
		Next:  "bleed it down and read the gauge before a joint is opened again",
	}
	r, ok := lastBefore(c, "zero", o.Entry)
	if !ok {
		f.Measured = "no reading before it"
		return f, false
	}
	f.Entries = ids(o.Entry, r.Entry)
	m, ok := read[quantity.Gauge](c, r, "rail")
	v, _ := r.Value("rail")
	zero, _ := quantity.Of[quantity.Gauge](v.Zero)
	switch {
	case !ok:
		f.Measured = "the reading holds no number"
		return f, false
	case energisedBetween(c, r.Entry, o.Entry):
		f.Measured = "the pump ran after the reading"
		return f, false
	case v.Gauge == nil:
		f.Measured = bar(m.value) + ", no gauge named"
		return f, false
	}
	f.Measured = bar(m.value)
	if why := gaugeTrouble(c, r, *v.Gauge); why != "" {
		f.Measured += ": " + why
		return f, false
	}
	return f, !exceeds(math.Abs(float64(m.value-zero)), float64(zeroBand))
}
