package rules

import (
	"slices"
	"time"

	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/code"
)

var _ = register(Rule{
	ID: "X15", Title: "re-check without driving or reading",
	What:   "A re-check, HP11, that was closed on the day of the release, or with no reading since it.",
	Limits: "driven, and read",
	Source: "common practice",
	Means:  "Nothing was looked at that the release had not shown already.",
	Next:   "Drive it, then do R1 to R7.",
	Words:  Words{otherwise: {"nothing was looked at that the release had not shown", "drive it, then do R1 to R7"}},
	Judge:  judgeEmptyRecheck,
})

func judgeEmptyRecheck(c *state.Car) []schema.Finding {
	left, ok := lastRelease(c)
	done, isDone := recheckAfter(c, left)
	if !ok || !isDone {
		return nil
	}
	f := schema.Finding{
		Rule: "X15", Subject: done.ID, Severity: schema.Flag, About: "re-check", Limit: "driven, and read", Entries: ids(left, done),
	}
	read := slices.ContainsFunc(c.Readings, func(r state.Reading) bool {
		return schema.Order(r.Entry, left) > 0 && schema.Order(r.Entry, done) < 0
	})
	distance, known := driven(c, left, done, true)
	switch {
	case !read:
		f.Code, f.Measured = code.Unread, "no reading since the release"
	case known && distance == 0:
		f.Code, f.Measured = code.Still, "the odometer has not moved"
	case sameDay(left.At, done.At):
		f.Code, f.Measured = code.Early, "on the day of the release"
	default:
		return nil
	}
	return []schema.Finding{f}
}

func sameDay(a, b time.Time) bool {
	return a.UTC().Format(time.DateOnly) == b.UTC().Format(time.DateOnly)
}
