package rules

import (
	"feedproof/checklist/past"
	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/code"
	"feedproof/schema/quantity"
)

var _ = register(Rule{
	ID: "X33", Title: "what the car runs now against its envelope",
	What: "When a car comes back: power, manifold pressure and ethanol that the customer declares, against the envelope under which it was last released, or against the plan when one was made in this visit. " +
		"Boost is over the standard barometer.",
	Limits:   "within the envelope; beyond that of the last release: BLOCK; beyond a plan of this visit: FLAG",
	Source:   "common practice",
	Means:    "Boost raises demand and pump pressure at once: half a bar more takes a margin of 1.28 to 0.97 with the same parts. The release no longer holds.",
	Next:     "Plan again with what it runs now, or set it back to the envelope and plan that.",
	Words:    Words{code.Outside: {"what was proven does not hold for it", "plan again with what it runs now, or set it back and plan that"}},
	Envelope: true,
	Judge:    inVisit(judgeDeclared),
})

func judgeDeclared(c *state.Car) []schema.Finding {
	if len(c.SignOffs) == 0 || c.InVisit(c.SignOffs[0].Entry) {
		return nil
	}
	envelope, severity, of := c.SignOffs[len(c.SignOffs)-1].Data.Statement.Envelope, schema.Block, "the release allows "
	if c.InVisit(c.PlanBy) {
		envelope, severity, of = c.Plan.Envelope, schema.Flag, "the plan of this visit says "
	}
	var found []schema.Finding
	for _, x := range past.AgainstEnvelope(c.Visit.Data.Declared, envelope) {
		if x.Beyond {
			found = append(found, schema.Finding{
				Rule: "X33", Subject: x.What, Severity: severity, Values: []schema.Amount{called("declared", plainly(x.Declared))}, About: "declared " + x.What, Measured: plainly(x.Declared), Limit: of + plainly(x.Limit), Entries: ids(c.Visit.Entry),
			})
		}
	}
	return found
}

// plainly prints a power, a manifold pressure or a share of ethanol in the same
// units, however it was written.
func plainly(written string) string {
	if p, err := quantity.Parse[quantity.Power](written); err == nil {
		return kilowatts(p)
	}
	if p, err := quantity.Parse[quantity.Absolute](written); err == nil {
		return quantity.Format(p, "kPa abs", 1)
	}
	if f, err := quantity.Parse[quantity.Fraction](written); err == nil {
		return percent(f)
	}
	return written
}
