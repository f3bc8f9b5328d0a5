package rules

import (
	"fmt"
	"math"

	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/code"
	"feedproof/schema/quantity"
)

const ethanolApart = 0.10

var _ = register(Rule{
	ID: "X13", Title: "ethanol as measured against the log",
	What:   "The ethanol content that was measured last before a log against the one that the log's sensor shows.",
	Limits: "within 10 points",
	Source: "common practice; sensor and water test are each good to 3 to 5 points",
	Means:  "Another fuel came in, or one of the two is wrong. Demand and mixture rest on it.",
	Next:   "Do the water test on what is in the rail, then look at the sensor.",
	Words:  Words{code.Contradicts: {"both cannot be true", "water test on what is in the rail, then look at the sensor"}},
	Judge:  inVisit(judgeLoggedEthanol),
})

func judgeLoggedEthanol(c *state.Car) []schema.Finding {
	l, _ := lastPull(c)
	shown, _, logs := logged[quantity.Fraction](l, logEthanol)
	r, _ := lastBefore(c, "ethanol", l.Entry)
	typed, measured := timed[quantity.Fraction](r, "ethanol")
	if !logs || !measured || !exceeds(math.Abs(float64(shown-typed)), ethanolApart) {
		return nil
	}
	return []schema.Finding{{
		Rule: "X13", Subject: "ethanol", Code: code.Contradicts, Severity: schema.Hold, Values: []schema.Amount{amount("measured", typed), amount("logged", shown)}, About: "ethanol", Limit: "within 10 points of each other", Entries: ids(r.Entry, l.Entry),
		Measured: fmt.Sprintf("%s measured, %s in the log", percent(typed), percent(shown)),
	}}
}
