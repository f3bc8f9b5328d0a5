package rules

import (
	"fmt"
	"slices"
	"time"

	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/code"
	"feedproof/schema/quantity"
)

var _ = register(Rule{
	ID: "X01", Title: "leak-down longer than the time there was",
	What:   "The time that a leak-down claims, 10 minutes when its second end is there, against the time since the last reading for which the pump had to run. Readings that say they were written late are not compared.",
	Limits: "claimed time at most the time between the two entries",
	Source: "common practice",
	Means:  "The test was shorter than it says, or the times are wrong. Either way it proves nothing.",
	Next:   "Do it again and let the clock run.",
	Words:  Words{code.Hasty: {"it was shorter than it says", "do it again and let the clock run"}},
	Judge:  inVisit(judgeLeakDownTime),
})

const secondEnd = 10 * time.Minute

func judgeLeakDownTime(c *state.Car) []schema.Finding {
	r, _ := c.Last("leak-down")
	if r.Data.Late != "" || r.Entry.Late() {
		return nil
	}
	claimed, _ := timed[quantity.Duration](r, "time")
	ran := pumpLast(c, r.Entry)
	need := time.Duration(float64(claimed) * float64(time.Second))
	if _, both := r.Value("end10"); both {
		need = max(need, secondEnd)
	}
	had := r.Entry.At.Sub(ran.At)
	if had >= need {
		return nil
	}
	return []schema.Finding{{
		Rule: "X01", Severity: schema.Unproven, Subject: "leak-down", Code: code.Hasty, Values: []schema.Amount{inMinutes("had", had)}, Limits: []schema.Bound{{Name: "had", AtLeast: inMinutes("had", need).Value, Unit: "min"}}, About: "time of the leak-down", Limit: fmt.Sprintf("%.0f min after the pump last ran", need.Minutes()),
		Measured: fmt.Sprintf("written %.1f min after the pump last ran", had.Minutes()), Entries: ids(ran, r.Entry),
	}}
}

// pumpLast is the last entry before another that needed the pump running; the
// zero entry, long ago, when there is none.
func pumpLast(c *state.Car, before schema.Entry) schema.Entry {
	for _, r := range slices.Backward(c.Readings) {
		if r.Kind().Runs >= schema.RunsPump && schema.Order(r.Entry, before) < 0 && r.Data.Late == "" {
			return r.Entry
		}
	}
	return schema.Entry{}
}
