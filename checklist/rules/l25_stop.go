package rules

import (
	"slices"

	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/code"
	"feedproof/schema/quantity"
)

var (
	stopScale = scale{{2, schema.Flag}, {5, schema.Hold}}
	stopLimit = []schema.Bound{atMost("time", quantity.Duration(stopScale[0].above))}
)

var _ = register(Rule{
	ID: "L25", Title: "pump stops when the engine stops", Never: true,
	What:   "Seconds until the pump stops after a stall, key left on: timed, and as a log of this visit shows it.",
	Limits: "OK to 2 s, FLAG to 5 s, HOLD beyond; never stops: BLOCK on a road car, HOLD off the road",
	Source: "common practice",
	Means:  "After a crash a pump that runs on feeds the fire.",
	Next:   "Check the trigger: relay driven by the engine control or an oil-pressure switch, inertia switch in the circuit.",
	Words: Words{
		code.Incomplete: {"nothing shows it yet", "time it: feedproof read CAR stop time=1.4s"},
		code.Changed:    {"nothing shows it yet", "{changed} changed after it: do it again"},
		otherwise:       {"the pump runs on after the engine stopped", "check the relay's trigger and the inertia switch"},
	},
	Judge: inVisit(func(c *state.Car) []schema.Finding { return beside(stopInLog(c), judgeStop(c), true) }),
})

// stopInLog is the stop that a log shows, at the end of any run.
func stopInLog(c *state.Car) []schema.Finding {
	for _, l := range slices.Backward(c.Logs) {
		after, at, ok := logged[quantity.Duration](l, logPumpStop)
		if _, gone := c.ChangedAfter(l.Entry, "wiring"); !ok || gone || !c.InVisit(l.Entry) {
			continue
		}
		return []schema.Finding{{
			Rule: "L25", Subject: inLog(logPumpStop), Severity: stopScale.grade(float64(after)), Values: []schema.Amount{amount("time", after)}, Limits: stopLimit, About: "pump stop, log", Measured: quantity.Format(after, "s", 1) + at, Limit: "at most 2 s", Entries: ids(l.Entry),
		}}
	}
	return nil
}

func judgeStop(c *state.Car) []schema.Finding {
	r, ok := c.Last("stop")
	if !ok {
		return nil
	}
	f := schema.Finding{Rule: "L25", Subject: "stop", Limits: stopLimit, About: "pump stop after a stall", Limit: "at most 2 s", Entries: ids(r.Entry)}
	if why, gone := invalidated(c, r, "wiring"); gone {
		return outdated(f, why)
	}
	if v, _ := r.Value("stopped"); v.Seen == "never" {
		f.Measured, f.Severity, f.Code = "never", schema.Hold, code.Never
		if c.Vehicle.RoadUse.Worst(true) {
			f.Severity = schema.Block
		}
		return []schema.Finding{f}
	}
	time, ok := timed[quantity.Duration](r, "time")
	if !ok {
		return lacking(f, code.Incomplete)
	}
	f.Values = []schema.Amount{amount("time", time)}
	f.Severity, f.Measured = stopScale.grade(float64(time)), quantity.Format(time, "s", 1)
	return []schema.Finding{f}
}
