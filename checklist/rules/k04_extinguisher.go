package rules

import (
	"time"

	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/code"
	"feedproof/schema/quantity"
)

var _ = register(Rule{
	ID: "K04", Title: "extinguishers inspected within 12 months, and of the right kind", Never: true,
	What: "Where the answer to caution K04 gives the date at which the extinguishers were last inspected, that date is at most 12 months before. " +
		"And where it says what they hold: plain foam does not count beside fuel of which the envelope allows more than 10 % ethanol.",
	Limits: "12 months; foam above 10 % ethanol: alcohol-resistant",
	Source: "29 CFR 1910.157(e)(3), annual maintenance check; NFPA 10; both from memory. Alcohol-resistant foam for fuel with more than 10 % alcohol: NFPA 11, from memory. The same section puts one within 15 m (50 ft) of a class B hazard",
	Means:  "Nobody knows whether it will work.",
	Next:   "Bring two that are in date, then answer K04 again.",
	Words: Words{
		code.Unfit: {"alcohol takes plain foam apart: the fire comes back", "bring alcohol-resistant foam or powder, then: feedproof caution CAR K04 --proof ... --agent \"alcohol-resistant foam\""},
		code.Late:  {"nobody knows whether they will work", "bring two that are in date, then: feedproof caution CAR K04 --proof ... --inspected DATE"},
	},
	Judge: inVisit(judgeExtinguisher),
})

func judgeExtinguisher(c *state.Car) []schema.Finding {
	k, _ := lastCaution(c, "K04")
	return append(inspection(k), agent(c, k)...)
}

// mostForFoam is how much ethanol fuel may have beside plain foam.
const mostForFoam = quantity.Fraction(0.10)

func agent(c *state.Car, k state.Caution) []schema.Finding {
	if k.Data.Agent == "" || c.Plan == nil {
		return nil
	}
	_, most := ethanolRange(c)
	f := schema.Finding{
		Rule: "K04", Subject: "agent", Values: []schema.Amount{amount("ethanol", most)}, About: "what the extinguishers hold", Measured: string(k.Data.Agent) + " beside fuel to " + quantity.Text(most) + " ethanol",
		Limit: "alcohol-resistant foam, or no foam, above 10 %", Entries: append(ids(k.Entry), planned(c)...),
	}
	if k.Data.Agent == schema.PlainFoam && exceeds(float64(most), float64(mostForFoam)) {
		f.Severity, f.Code = schema.Hold, code.Unfit
	}
	return []schema.Finding{f}
}

func inspection(k state.Caution) []schema.Finding {
	if k.Data.Inspected == "" {
		return nil
	}
	f := schema.Finding{
		Rule: "K04", Subject: "extinguishers", Values: []schema.Amount{called("inspected", k.Data.Inspected)}, About: "extinguishers", Measured: "inspected " + k.Data.Inspected, Limit: "inspected within 12 months", Entries: ids(k.Entry),
	}
	inspected, _ := time.Parse(time.DateOnly, k.Data.Inspected) // unreadable is long ago
	if k.Entry.At.After(inspected.AddDate(1, 0, 1)) || inspected.After(k.Entry.At) {
		f.Severity, f.Code = schema.Hold, code.Late
	}
	return []schema.Finding{f}
}
