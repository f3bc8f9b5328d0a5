package rules

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/code"
	"feedproof/schema/quantity"
)

var _ = register(Rule{
	ID: "X11", Title: "a number that fits another unit",
	What: "A pressure whose ratio to the plan's base, or a torque whose ratio to the usual one of its joint, is that between two units that get mixed up. The port of a torque reading names the joint. " +
		"The value is kept as it was written; nobody guesses the unit.",
	Formula: "ratio within 5 % of 14.504 (psi, bar) or 6.895 (psi, kPa), either way, for pressures; within 10 % of 12 (lbf.ft, lbf.in) or 8.851 (N.m, lbf.in) for torques",
	Limits:  "FLAG until somebody says which it is",
	Source:  "factors: NIST SP 811. M5 flange bolts on rubber or cork 2.3 to 2.8 N.m, aluminium flare dash 6 11.3 to 16.9 N.m: common practice, the maker's number wins",
	Means:   "The unit is wrong, or the joint was strained twelvefold.",
	Next:    "Look at the tool's scale. If the unit was wrong, correct the entry; if the torque was real, the joint is renewed.",
	Words:   Words{code.Mixed: {"the number fits another unit", "look at the scale; correct the entry, or say that it is real"}},
	Judge:   inVisit(judgeUnits),
})

// mixUps are the ratios between units that get mixed up, either way.
type mixUps struct {
	within float64
	ratios []float64
}

var (
	pressureMixUps = mixUps{0.05, []float64{14.5038, 6.89476}}
	torqueMixUps   = mixUps{0.10, []float64{12, 8.85075}}
)

func (m mixUps) fit(ratio float64) bool {
	return slices.ContainsFunc(m.ratios, func(f float64) bool { return math.Abs(ratio/f-1) <= m.within || math.Abs(ratio*f-1) <= m.within })
}

// usualTorque of joints whose name says what they are.
var usualTorque = []struct {
	word      string
	low, high quantity.Torque
}{
	{"m5", 2.3, 2.8},
	{"dash 6", 11.3, 16.9},
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
	for _, r := range c.All("torque") {
		found = append(found, torqueUnits(r)...)
	}
	return found
}

func torqueUnits(r state.Reading) []schema.Finding {
	v, _ := r.Value("torque")
	torque, _ := timed[quantity.Torque](r, "torque")
	for _, u := range usualTorque {
		if strings.Contains(strings.ToLower(v.Port), u.word) && (torqueMixUps.fit(float64(torque/u.low)) || torqueMixUps.fit(float64(torque/u.high))) {
			limit := fmt.Sprintf("usually %s to %s", quantity.Format(u.low, "N.m", 1), quantity.Format(u.high, "N.m", 1))
			return []schema.Finding{unitFinding(r.Entry.ID, "torque, "+v.Port, amount("torque", torque), both(torque, "N.m", 1, "lbf.ft", 1), limit, r.Entry)}
		}
	}
	return nil
}

func unitFinding(subject, about string, read schema.Amount, measured, limit string, e schema.Entry) schema.Finding {
	return schema.Finding{
		Rule: "X11", Subject: subject, Code: code.Mixed, Values: []schema.Amount{read}, Severity: schema.Flag, About: about, Measured: measured, Limit: limit, Entries: ids(e),
	}
}
