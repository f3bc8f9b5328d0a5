package rules

import (
	"fmt"
	"math"

	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/code"
	"feedproof/schema/quantity"
)

var (
	recheckDays     = scale{{30, schema.Flag}, {90, schema.Hold}}
	recheckDistance = scale{{float64(160 * kilometre), schema.Flag}, {float64(500 * kilometre), schema.Hold}}
)

const (
	kilometre    = quantity.Length(1000)
	earlyRecheck = 80 * kilometre
)

var _ = register(Rule{
	ID: "L23", Title: "re-check after the release",
	What: "Days and distance from the last release to the re-check, HP11, or to now while it is not done. Distance is known when the car is back and its odometer was read. " +
		"A re-check before 80 km is welcome, and does not close HP11. Overdue is not void: it is acknowledged, and done.",
	Limits: "OK from 80 to 160 km (50 to 100 mi) and to 30 days; FLAG beyond; HOLD beyond 500 km or 90 days: the next job starts as if nothing were known",
	Source: "common practice",
	Means:  "Gaskets settle and hoses creep in the first kilometres; leaks of new work show then.",
	Next:   "Do the re-check: R1 to R7, then close HP11.",
	Words: Words{
		code.Late:  {"the new work was not looked at again in time", "do the re-check, R1 to R7, then close HP11"},
		code.Early: {"it was early: HP11 stays open until 80 km", "look once more between 80 and 160 km"},
	},
	Judge: judgeRecheck,
})

func judgeRecheck(c *state.Car) []schema.Finding {
	left, ok := lastRelease(c)
	if !ok {
		return nil
	}
	done, isDone := recheckAfter(c, left)
	at, moment := c.Now, "now, not done"
	if isDone {
		at, moment = done.At, "at the re-check"
	}
	distance, known := driven(c, left, done, isDone)
	days := at.Sub(left.At).Hours() / 24
	f := schema.Finding{
		Rule: "L23", Subject: "HP11", Code: code.Late, Values: []schema.Amount{howMany("days", int(math.Round(days)))}, Limits: []schema.Bound{{Name: "days", AtMost: figures(recheckDays[0].above)}, {Name: "distance", AtMost: kilometres("", quantity.Length(recheckDistance[0].above)).Value, Unit: "km"}}, About: "re-check", Measured: fmt.Sprintf("%.0f days %s", days, moment), Limit: "80 to 160 km and at most 30 days after the release", Entries: ids(left),
	}
	f.Severity = recheckDays.grade(days)
	if known {
		f.Values = append(f.Values, kilometres("distance", distance))
		f.Measured = fmt.Sprintf("%s, %s", both(distance, "km", 0, "mi", 0), f.Measured)
		f.Severity = max(f.Severity, recheckDistance.grade(float64(distance)))
	}
	if isDone && known && f.Severity == schema.OK && distance < earlyRecheck {
		f.Severity, f.Code = schema.Note, code.Early
	}
	if f.Severity == schema.OK {
		f.Code = code.Within
	}
	return []schema.Finding{f}
}

func kilometres(name string, l quantity.Length) schema.Amount {
	w := quantity.Write(l, "km", 0)
	return schema.Amount{Name: name, Value: w.Value, Unit: w.Unit}
}

// lastRelease is the last sign-off, as long as the car was not signed off
// again.
func lastRelease(c *state.Car) (schema.Entry, bool) {
	if len(c.SignOffs) == 0 {
		return schema.Entry{}, false
	}
	return c.SignOffs[len(c.SignOffs)-1].Entry, true
}

func recheckAfter(c *state.Car, left schema.Entry) (schema.Entry, bool) {
	for _, p := range c.Points {
		if p.Data.Point == "HP11" && p.Data.Action == schema.ClosePoint && schema.Order(p.Entry, left) > 0 {
			return p.Entry, true
		}
	}
	return schema.Entry{}, false
}

// driven is the distance from the release to the visit of the re-check, or to
// the last visit while there is none.
func driven(c *state.Car, left, done schema.Entry, isDone bool) (quantity.Length, bool) {
	var from, to quantity.Length
	haveFrom, haveTo := false, false
	for _, v := range c.VisitEntries {
		odometer, err := v.Data.Odometer.SI()
		switch {
		case err != nil || isDone && schema.Order(v.Entry, done) > 0:
		case schema.Order(v.Entry, left) < 0 || v.Data.Action == schema.CloseVisit && !haveTo:
			from, haveFrom = odometer, true
		default:
			to, haveTo = odometer, true
		}
	}
	return to - from, haveFrom && to >= from
}
