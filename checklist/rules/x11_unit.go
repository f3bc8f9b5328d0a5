package rules

import (
	"math"
	"slices"

	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/code"
	"feedproof/schema/quantity"
)

var _ = register(Rule{
	ID: "X11", Title: "a number that fits another unit",
	What: "A pressure whose ratio to the plan's base is that between two units that get mixed up; of torques see L45. " +
		"The value is kept as it was written; nobody guesses the unit.",
	Formula: "ratio within 5 % of 14.504 (psi, bar) or 6.895 (psi, kPa), either way",
	Limits:  "FLAG until somebody says which it is",
	Source:  "factors: NIST SP 811",
	Means:   "The unit is wrong, or the system stood under many times its pressure.",
	Next:    "Look at the gauge's scale. If the unit was wrong, correct the entry.",
	Words:   Words{code.Mixed: {"the number fits another unit", "look at the scale; correct the entry, or say that it is real"}},
	Judge:   inVisit(judgeUnits),
})

// mixUps are the ratios between units that get mixed up, either way.
type mixUps struct {
	within float64
	ratios []float64
}

var pressureMixUps = mixUps{0.05, []float64{14.5038, 6.89476}}

func (m mixUps) fit(ratio float64) bool {
	return slices.ContainsFunc(m.ratios, func(f float64) bool { return math.Abs(ratio/f-1) <= m.within || math.Abs(ratio*f-1) <= m.within })
}

func judgeUnits(c *state.Car) []schema.Finding {
	var found []schema.Finding
	base, _ := c.Base()
	for _, name := range []struct{ test, value string }{{"base", "rail"}, {"idle", "off"}} {
		r, _ := c.Last(name.test)
		if p, _ := timed[quantity.Gauge](r, name.value); pressureMixUps.fit(float64(p) / float64(base)) {
			found = append(found, unitFinding(name.test+" "+name.value, name.test+" pressure", amount(name.value, p), bar(p), "the plan's base is "+bar(base), r.Entry))
		}
	}
	return found
}

func unitFinding(subject, about string, read schema.Amount, measured, limit string, e schema.Entry) schema.Finding {
	return schema.Finding{
		Rule: "X11", Subject: subject, Code: code.Mixed, Values: []schema.Amount{read}, Severity: schema.Flag, About: about, Measured: measured, Limit: limit, Entries: ids(e),
	}
}
