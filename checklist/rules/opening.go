package rules

import (
	"fmt"
	"slices"
	"time"

	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/code"
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
		return c.Between(r.Entry, from, to)
	})
}

// energisedBetween reports that the pump ran between two entries.
func energisedBetween(c *state.Car, from, to schema.Entry) bool {
	return doneBetween(c, schema.RunsPump, from, to)
}

// EnergisedAfter reports that the pump ran after an entry.
func EnergisedAfter(c *state.Car, from schema.Entry) bool {
	return energisedBetween(c, from, thisMoment(c))
}

// ranBetween reports that the engine ran between two entries.
func ranBetween(c *state.Car, from, to schema.Entry) bool {
	return doneBetween(c, schema.RunsEngine, from, to)
}

// doneBetween reports a reading for which so much runs or more, or a log,
// between two entries.
func doneBetween(c *state.Car, least schema.Runs, from, to schema.Entry) bool {
	between := func(e schema.Entry) bool { return c.Between(e, from, to) }
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

// secondClass judges again an opening that is not proven by what its writer had
// seen, by the times that are claimed. A proof that was typed after the act, or
// on a machine that did not know of it, is at best a FLAG, which a lead answers
// who did not do the work: an honest late entry need not be taken back, and none
// turns red to green in silence.
func secondClass(c *state.Car, o state.Opening, proven func(*state.Car, state.Opening) (schema.Finding, bool)) (schema.Finding, bool) {
	claimed := c.Claimed()
	i := slices.IndexFunc(claimed.Openings, func(other state.Opening) bool { return other.Entry.ID == o.Entry.ID })
	if i < 0 {
		return schema.Finding{}, false
	}
	f, ok := proven(claimed, claimed.Openings[i])
	if !ok || f.Severity > schema.Flag {
		return f, false
	}
	f.Severity, f.Code = schema.Flag, code.Tardy
	f.Measured += ", " + writtenLate(c, f.Entries, o.Entry)
	return f, true
}

// writtenLate says how long after an act the last of what proves it was typed.
func writtenLate(c *state.Car, proof []string, act schema.Entry) string {
	latest := act.Entered
	for _, id := range proof {
		if e, ok := c.Record.Entry(id); ok && e.Entered.After(latest) {
			latest = e.Entered
		}
	}
	if late := latest.Sub(act.At); late >= 2*time.Minute {
		return fmt.Sprintf("written %.0f min after the act", late.Minutes())
	}
	return "written where the act was not known"
}
