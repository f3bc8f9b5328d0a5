package rules

import (
	"slices"

	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/code"
	"feedproof/schema/quantity"
)

var _ = register(Rule{
	ID: "K20", Title: "external leak seen", Never: true, OpensFuel: true,
	What:   "A joint that was seen damp, wet or smelling stays leaking until a later leak test under pressure names the same joint and finds it dry; a carburettor's bowl that ran over, until a later needle test finds it dry.",
	Limits: "dry; anything else: stop",
	Source: "common practice",
	Means:  "A 0.3 mm hole at 4 bar sprays about 86 mL a minute. A good leak-down does not show an outside leak.",
	Next:   "Stop the pump, isolate, clean, mend the joint, and do the leak test again on that joint.",
	Words: Words{
		code.Leaking:     {"fuel is getting out", "stop the pump, mend it, and test that joint again under pressure: feedproof read CAR leak pressure=... {joint}=dry"},
		code.Overflowing: {"fuel is getting out", "stop the pump, look at needle, seat and float, and test again: feedproof read CAR needle time=5min bowl=dry"},
	},
	Judge: judgeLeak,
})

func judgeLeak(c *state.Car) []schema.Finding {
	var found []schema.Finding
	for _, l := range leaksSeen(c) {
		if driedLater(c, l) {
			continue
		}
		f := schema.Finding{
			Rule: "K20", Subject: l.joint, Code: code.Leaking, Severity: schema.Stop, Values: []schema.Amount{called("joint", l.joint), called("seen", l.seen)},
			About: "leak at " + l.joint, Measured: l.joint + ": " + l.seen, Limit: "dry", Entries: ids(l.entry),
		}
		if l.seen == "overflow" {
			f.Code = code.Overflowing
		}
		found = oneEach(c, found, f)
	}
	return found
}

// JointOf is the joint that a finding is about; empty for one that is about
// something else.
func JointOf(f schema.Finding) string {
	if slices.Contains([]code.Code{code.Leaking, code.Overflowing, code.Untested}, f.Code) {
		return f.Subject
	}
	return ""
}

// oneEach adds a finding on a joint, or puts it in the place of one that says the
// same of it: the later one counts, but for one whose hand is in doubt.
func oneEach(c *state.Car, found []schema.Finding, f schema.Finding) []schema.Finding {
	i := slices.IndexFunc(found, func(o schema.Finding) bool { return o.Key() == f.Key() })
	switch {
	case i < 0:
		return append(found, f)
	case c.Record.Doubts[f.Entries[0]] == "":
		found[i] = f
	}
	return found
}

type leak struct {
	joint, seen string
	entry       schema.Entry
}

// leaksSeen lists every joint that was seen other than dry, from leak tests and
// from cautions, whenever it was.
func leaksSeen(c *state.Car) []leak {
	var out []leak
	for _, r := range c.Readings {
		for _, v := range r.Data.Values {
			if leakWord(v.Seen) {
				out = append(out, leak{v.Name, v.Seen, r.Entry})
			}
		}
	}
	for _, k := range c.Cautions {
		if k.Data.Caution == "K20" && k.Data.State == schema.CautionSeen {
			out = append(out, leak{k.Data.Where, "leak seen", k.Entry})
		}
	}
	return out
}

func leakWord(seen string) bool {
	return slices.Contains([]string{"damp", "wet", "smell", "overflow"}, seen)
}

// driedLater finds the joint dry in a later test with pressure behind it.
func driedLater(c *state.Car, l leak) bool {
	return slices.ContainsFunc(c.Readings, func(r state.Reading) bool {
		return testsLeak(r) && schema.Order(r.Entry, l.entry) > 0 && r.Names(l.joint)
	})
}

// testsLeak reports a leak test under pressure, or for a bowl the needle test:
// no other test has both joints and pressure.
func testsLeak(r state.Reading) bool {
	return underPressure(r) || r.Data.Test == "needle"
}

// underPressure reports a test at any pressure that the gauge shows; which one
// it must be is for V-06.
func underPressure(r state.Reading) bool {
	p, _ := timed[quantity.Gauge](r, "pressure")
	return exceeds(float64(p), float64(openHose))
}
