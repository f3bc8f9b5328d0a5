package rules

import (
	"fmt"
	"slices"
	"time"

	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/code"
)

const (
	tickRun  = 7
	tickTime = 5 * time.Second
)

var _ = register(Rule{
	ID: "X02", Title: "cautions ticked faster than anybody reads",
	What:   "Seven or more cautions that one person answered as met within less than 5 seconds of typing. Those that ask for an instrument are not proven by a tick anyway: their own finding says so.",
	Limits: "fewer than 7 in 5 s",
	Source: "common practice",
	Means:  "They were ticked, not looked at.",
	Next:   "Go through them again, one by one, at the car.",
	Words:  Words{code.Hasty: {"they were ticked, not looked at", "go through them again, one by one, at the car"}},
	Judge:  inVisit(judgeTicks),
})

func judgeTicks(c *state.Car) []schema.Finding {
	run := fastestRun(c)
	if len(run) < tickRun {
		return nil
	}
	f := schema.Finding{
		Rule: "X02", Subject: run[0].Entry.By, Code: code.Hasty, Severity: schema.Flag, Values: []schema.Amount{howMany("cautions", len(run))}, About: "cautions in a row", Limit: "fewer than 7 in 5 s",
		Measured: fmt.Sprintf("%d in %.0f s by %s", len(run), run[len(run)-1].Entry.Entered.Sub(run[0].Entry.Entered).Seconds(), run[0].Entry.By),
	}
	for _, k := range run {
		f.Entries = append(f.Entries, k.Entry.ID)
	}
	return []schema.Finding{f}
}

func hasReading(c *state.Car, test string) bool { _, ok := c.Last(test); return ok }

// fastestRun is the longest run of one person's answers within the time.
func fastestRun(c *state.Car) []state.Caution {
	byPerson := map[string][]state.Caution{}
	var longest []state.Caution
	typed := slices.Clone(c.Cautions)
	slices.SortStableFunc(typed, func(a, b state.Caution) int { return a.Entry.Entered.Compare(b.Entry.Entered) })
	for _, k := range typed {
		if k.Data.State != schema.CautionMet || !c.InVisit(k.Entry) {
			continue
		}
		run := append(byPerson[k.Entry.By], k)
		for k.Entry.Entered.Sub(run[0].Entry.Entered) >= tickTime {
			run = run[1:]
		}
		byPerson[k.Entry.By] = run
		if len(run) > len(longest) {
			longest = slices.Clone(run)
		}
	}
	return longest
}
