package rules

import (
	"feedproof/checklist/state"
	"feedproof/schema"
)

var _ = register(Rule{
	ID: "L22", Title: "instruments in date and fine enough",
	What: "Every rule that judges a reading also judges its gauge: in calibration on that day, not found bad since, zeroed, and an uncertainty of a third of the tolerance or less. " +
		"This rule says the same of readings that no other rule judges, such as torques and distances: the gauge that they name must have been in date and not found bad since.",
	Formula: "U = hypot(limit of error, half a division); limit of error = class x span",
	Limits:  "OK in date and U at most a third of the tolerance, FLAG to a half, else UNPROVEN",
	Source:  "guard band: JCGM 106:2012 and ILAC-G8:09/2019; intervals: common practice (ISO 6789 for torque tools); all from memory",
	Means:   "A number from a gauge that nobody vouches for is not evidence.",
	Next:    "Have it calibrated, or read again with one that is in date.",
	Words:   Words{otherwise: {"the reading proves nothing", "read again with one that is in date"}},
	Judge:   inVisit(judgeInstruments),
})

// unjudged are the tests whose gauge no other rule asks about.
var unjudged = []string{"winding", "torque", "measure", "depth", "hanger", "charging", "pump alone", "transfer", "bond", "spread"}

func judgeInstruments(c *state.Car) []schema.Finding {
	var found []schema.Finding
	for _, test := range unjudged {
		r, ok := c.Last(test)
		if !ok {
			continue
		}
		if f, bad := instrumentFinding(c, r); bad {
			found = append(found, f)
		}
	}
	return found
}

func instrumentFinding(c *state.Car, r state.Reading) (schema.Finding, bool) {
	for _, v := range r.Data.Values {
		if v.Gauge == nil {
			continue
		}
		why := gaugeTrouble(c, r, *v.Gauge)
		if !why.is() {
			continue
		}
		f := schema.Finding{
			Rule: "L22", Subject: r.Data.Test, Severity: schema.Unproven, About: "instrument of " + r.Data.Test, Measured: why.text(), Limit: "in date, and not found bad since", Entries: ids(r.Entry),
		}
		return doubted(f, why), true
	}
	return schema.Finding{}, false
}
