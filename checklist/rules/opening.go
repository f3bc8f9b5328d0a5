package rules

import (
	"slices"

	"feedproof/checklist/state"
	"feedproof/schema"
)

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

// energisedBetween reports that the pump ran between two entries.
func energisedBetween(c *state.Car, from, to schema.Entry) bool {
	return doneBetween(c, schema.RunsPump, from, to)
}

// ranBetween reports that the engine ran between two entries.
func ranBetween(c *state.Car, from, to schema.Entry) bool {
	return doneBetween(c, schema.RunsEngine, from, to)
}

// doneBetween reports a reading for which so much runs or more, or a log,
// between two entries.
func doneBetween(c *state.Car, least schema.Runs, from, to schema.Entry) bool {
	between := func(e schema.Entry) bool { return schema.Order(e, from) > 0 && schema.Order(e, to) < 0 }
	return slices.ContainsFunc(c.Readings, func(r state.Reading) bool { return r.Kind().Runs >= least && between(r.Entry) }) ||
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
