package rules

import (
	"math"

	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/code"
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
	Words:   Words{otherwise: {"the joint was not shown free of pressure when it was opened", "bleed it down and read the gauge before a joint is opened again"}},
	Judge:   judgeZero,
})

func judgeZero(c *state.Car) []schema.Finding {
	var found []schema.Finding
	openings := c.ToProve()
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
		Rule: "K05", Subject: o.Entry.ID, About: "pressure before opening " + o.Joint, Limit: "0 +- " + bar(zeroBand),
		Values: []schema.Amount{called("joint", o.Joint)}, Limits: []schema.Bound{inside("rail", -zeroBand, zeroBand)},
	}
	r, ok := lastBefore(c, "zero", o.Entry)
	if !ok {
		return unshown(f, doubtful(code.Unread), o.Entry), false
	}
	m, ok := read[quantity.Gauge](c, r, "rail")
	v, _ := r.Value("rail")
	zero, _ := quantity.Of[quantity.Gauge](v.Zero)
	switch {
	case !ok:
		return unshown(f, doubtful(code.Numberless), o.Entry, r.Entry), false
	case energisedBetween(c, r.Entry, o.Entry):
		return unshown(f, doubtful(code.Ran), o.Entry, r.Entry), false
	}
	f.Values = append(f.Values, asRead("rail", m))
	if why := instrumentTrouble(c, r, v); why.is() {
		f = unshown(f, why, o.Entry, r.Entry)
		f.Measured = bar(m.value) + ": " + f.Measured
		return f, false
	}
	f.Measured, f.Entries = bar(m.value), ids(o.Entry, r.Entry)
	return f, !exceeds(math.Abs(float64(m.value-zero)), float64(zeroBand))
}
