package rules

import (
	"fmt"
	"slices"

	"feedproof/checklist/planning"
	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/code"
	"feedproof/schema/quantity"
)

var _ = register(Rule{
	ID: "V-06", Title: "leak test after the last opened joint", Never: true, OpensFuel: true,
	What:   "The last joint that was opened, by a step or by a part that went in or out, in this visit or an earlier one, must be followed by a leak test of every joint, under the highest rail pressure of the plan.",
	Limits: "a leak test later than the last opening, at the plan's highest rail pressure or more, by more than the gauge's uncertainty",
	Source: "common practice",
	Means:  "A joint that was loosened after the test is an untested joint, whatever the test said.",
	Next:   "Close it, raise the pressure with regulated air on the regulator's reference, hold 60 to 120 s, wipe every joint with white paper.",
	Words: Words{
		code.Untested: {"the joint is untested", "close it and test every joint under pressure: feedproof read CAR leak pressure=... JOINT=dry"},
		otherwise:     {"a joint can be tight at base pressure and leak under boost", "test again at the highest rail pressure"},
	},
	Judge: judgeLastJoint,
})

func judgeLastJoint(c *state.Car) []schema.Finding {
	last, joint, ok := lastOpen(c)
	if !ok {
		return nil
	}
	f := schema.Finding{
		Rule: "V-06", Subject: joint, Severity: schema.Block, Code: code.Untested, Values: []schema.Amount{called("joint", joint)},
		About: "leak test after opening " + joint, Measured: "no leak test since", Limit: "tested after it", Entries: ids(last),
	}
	tests := leakTestsAfter(c, last)
	switch {
	case len(tests) == 0:
		return []schema.Finding{f}
	case !c.InVisit(tests[0].Entry): // that visit judged its pressure
		return nil
	}
	return leakPressure(c, tests[len(tests)-1])
}

// wetPositions hold fuel: whatever goes in or out there has its joints open,
// said or not.
var wetPositions = []string{
	"pump", "lift pump", "filter", "regulator", "injectors", "rail", "feed line", "return line", "suction line",
	"carburettor", "module", "tank", "surge tank", "damper", "check valve",
}

// leakTestsAfter are those of all visits.
func leakTestsAfter(c *state.Car, e schema.Entry) []state.Reading {
	return slices.DeleteFunc(slices.Clone(c.Readings), func(r state.Reading) bool {
		return r.Data.Test != "leak" || schema.Order(r.Entry, e) < 0
	})
}

// lastOpen is the last opening, or the last change of what holds fuel when that
// came later: a joint that an earlier visit left untested stays untested.
func lastOpen(c *state.Car) (entry schema.Entry, joint string, ok bool) {
	o, opened := last(c.Openings)
	if ch, changed := c.ChangedAfter(o.Entry, wetPositions...); changed {
		return ch.Entry, ch.Position, true
	}
	return o.Entry, o.Joint, opened
}

// leakPressure asks that the test was done at the highest rail pressure.
func leakPressure(c *state.Car, test state.Reading) []schema.Finding {
	h, known := planning.Highest(c)
	highest, at := h.Rail, h.RailAt
	if !known {
		return nil
	}
	f := schema.Finding{
		Rule: "V-06", Subject: "leak pressure", Severity: schema.Unproven, Code: code.Numberless, Limits: []schema.Bound{atLeast("pressure", highest)},
		About: "pressure of the leak test", Limit: "at least " + bar(highest) + " (" + at + ")", Entries: ids(test.Entry),
	}
	m, ok := read[quantity.Gauge](c, test, "pressure")
	if ok {
		f.Values = []schema.Amount{asRead("pressure", m)}
	}
	switch {
	case !ok:
		f.Measured = "no pressure recorded"
	case m.trouble.is():
		f.Measured = fmt.Sprintf("%s, but %s", bar(m.value), m.trouble.text())
		f = doubted(f, m.trouble)
	case exceeds(float64(highest), float64(m.value-m.u)):
		f.Measured, f.Code = withU(m), code.Short
	default:
		return nil
	}
	return []schema.Finding{f}
}
