package rules

import (
	"fmt"
	"slices"
	"time"

	"feedproof/checklist/state"
	"feedproof/schema"
)

// unshown is the finding on an act that nothing shows to have been safe: it says
// why, and rests on these entries.
func unshown(f schema.Finding, why doubt, entries ...schema.Entry) schema.Finding {
	f.Measured, f.Entries = why.text(), ids(entries...)
	return doubted(f, why)
}

// inMinutes is a time by name, in whole minutes.
func inMinutes(name string, d time.Duration) schema.Amount {
	return schema.Amount{Name: name, Value: fmt.Sprintf("%.0f", d.Minutes()), Unit: "min"}
}

// lastBefore finds the last reading of a test before an entry, in order.
func lastBefore(c *state.Car, test string, e schema.Entry) (state.Reading, bool) {
	return last(slices.DeleteFunc(c.All(test), func(r state.Reading) bool { return schema.Order(r.Entry, e) > 0 }))
}

// last is the last of a list.
func last[T any](list []T) (t T, ok bool) {
	if len(list) == 0 {
		return t, false
	}
	return list[len(list)-1], true
}

// closedBetween reports that the system was closed and leak tested between two
// entries: what was read before it says nothing about a new opening.
func closedBetween(c *state.Car, from, to schema.Entry) bool {
	return slices.ContainsFunc(c.All("leak"), func(r state.Reading) bool {
		return schema.Order(r.Entry, from) > 0 && schema.Order(r.Entry, to) < 0
	})
}

// engineRan lists the tests for which the engine runs, or ran just before.
var engineRan = []string{"idle", "load", "supply", "charging", "hot restart", "lambda", "return", "stop", "vent"}

// pumpRan lists the tests that put pressure back into the lines: those of a
// running engine, and those for which the pump runs alone.
var pumpRan = append([]string{"base", "leak", "leak-down", "prime", "flow", "slope", "relief", "filter", "suction", "pump alone", "transfer", "needle"}, engineRan...)

// energisedBetween reports that the pump ran between two entries.
func energisedBetween(c *state.Car, from, to schema.Entry) bool {
	return doneBetween(c, pumpRan, from, to)
}

// ranBetween reports that the engine ran between two entries.
func ranBetween(c *state.Car, from, to schema.Entry) bool { return doneBetween(c, engineRan, from, to) }

// doneBetween reports one of the tests, or a log, between two entries.
func doneBetween(c *state.Car, tests []string, from, to schema.Entry) bool {
	between := func(e schema.Entry) bool { return schema.Order(e, from) > 0 && schema.Order(e, to) < 0 }
	return slices.ContainsFunc(c.Readings, func(r state.Reading) bool { return slices.Contains(tests, r.Data.Test) && between(r.Entry) }) ||
		slices.ContainsFunc(c.Logs, func(l state.Log) bool { return between(l.Entry) })
}

// openingSeverity is how heavy an unproven opening is: STOP while the joint is
// open, HOLD once it is closed and tested, FLAG once a later opening of this
// visit was proven, for the act itself can no longer be shown.
func openingSeverity(c *state.Car, openings []state.Opening, i int, proven func(state.Opening) bool) schema.Severity {
	if slices.ContainsFunc(openings[i+1:], proven) {
		return schema.Flag
	}
	leak, _ := c.Last("leak")
	if schema.Order(leak.Entry, openings[i].Entry) > 0 {
		return schema.Hold
	}
	return schema.Stop
}
