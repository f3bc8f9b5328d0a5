package rules

import (
	"fmt"

	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/code"
	"feedproof/schema/quantity"
)

var ethanolBeyond = scale{{0.05, schema.Hold}}

var _ = register(Rule{
	ID: "L53", Title: "ethanol in the tank against the envelope", Envelope: true,
	What: "The last measured ethanol content against the least and the most of the plan's envelope. Demand, margin and duty are worked out for these ends only. " +
		"The value is compared as it is: neither sensor nor water test tells a third of 5 points.",
	Formula: "beyond = measured - most, or least - measured, in points of % v/v",
	Limits:  "at most 5 points beyond either end; else HOLD",
	Source:  "common practice; 5 points as for a fixed tune, L18",
	Means:   "The car runs on a fuel that nobody reckoned with: with more ethanol pump and injectors have to bring more.",
	Next:    "Empty and fill with a fuel of the envelope, or plan for the one that is in. Then measure again.",
	Words: Words{code.Outside: {"nobody reckoned with this fuel", "fill with a fuel of the envelope and measure it: feedproof read CAR ethanol ...; " +
		"or plan for this one: feedproof plan CAR --ethanol ..."}},
	Judge: inVisit(judgeEthanolEnvelope),
})

func judgeEthanolEnvelope(c *state.Car) []schema.Finding {
	if c.Plan == nil {
		return nil
	}
	least, err1 := c.Plan.Envelope.EthanolMin.SI()
	most, err2 := c.Plan.Envelope.EthanolMax.SI()
	r, _ := c.Last("ethanol")
	m, measured := read[quantity.Fraction](c, r, "ethanol")
	if err1 != nil || err2 != nil || !measured {
		return nil
	}
	f := schema.Finding{
		Rule: "L53", Subject: "ethanol", About: "ethanol against the envelope", Limit: fmt.Sprintf("%s to %s, +- 5 points", percent(least), percent(most)),
		Measured: percent(m.value), Values: []schema.Amount{asRead("ethanol", m)}, Entries: ids(r.Entry, c.PlanBy),
		Limits:   []schema.Bound{inside("ethanol", least-quantity.Fraction(ethanolBeyond[0].above), most+quantity.Fraction(ethanolBeyond[0].above))},
		Severity: ethanolBeyond.grade(float64(max(m.value-most, least-m.value))), Code: code.Within,
	}
	if f.Severity > schema.OK {
		f.Code = code.Outside
	}
	if m.trouble.is() && m.gauge != "" {
		return []schema.Finding{unproven(f, m.trouble)}
	}
	return []schema.Finding{f}
}
