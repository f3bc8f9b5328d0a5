package rules

import (
	"fmt"
	"slices"

	"feedproof/checklist/planning"
	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/code"
	"feedproof/schema/places"
	"feedproof/schema/quantity"
)

var _ = register(Rule{
	ID: "V-06", Title: "leak test of every opened joint", Never: true, OpensFuel: true,
	What:   "Every joint that was opened, by a step or by a part that went in or out, in this visit or an earlier one, must be named dry by a later leak test, under the highest rail pressure of the plan. A place stands for all its joints; what lies in the tank is shown by the joint of the hanger.",
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
	var found []schema.Finding
	said := map[string]bool{}
	for _, o := range slices.Backward(c.Untested()) {
		joint := places.Joint(o.Joint)
		if said[joint] {
			continue
		}
		said[joint] = true
		found = append(found, schema.Finding{
			Rule: "V-06", Subject: joint, Severity: schema.Block, Code: code.Untested, Values: []schema.Amount{called("joint", o.Joint)},
			About: "leak test after opening " + o.Joint, Measured: "no leak test of it since", Limit: "tested after it", Entries: ids(o.Entry),
		})
	}
	last, opened := last(c.Openings)
	if len(found) > 0 || !opened {
		return found
	}
	tests := leakTestsAfter(c, last.Entry)
	if len(tests) == 0 || !c.InVisit(tests[0].Entry) { // that visit judged its pressure
		return nil
	}
	return leakPressure(c, tests[len(tests)-1])
}

// leakTestsAfter are those of all visits.
func leakTestsAfter(c *state.Car, e schema.Entry) []state.Reading {
	return slices.DeleteFunc(slices.Clone(c.Readings), func(r state.Reading) bool {
		return r.Data.Test != "leak" || schema.Order(r.Entry, e) < 0
	})
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
