package rules

import (
	"maps"
	"slices"
	"strings"

	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/code"
)

var _ = register(Rule{
	ID: "X14", Title: "one serial number in two cars at once", Never: true,
	What:   "A part whose serial number stands in another car's record too, fitted there now: the same part record, or the same kind of part where one of the two has none. Two makers may use the same number: parts of different records do not count.",
	Limits: "one thing in one place",
	Source: "common practice",
	Means:  "One of the two records is wrong: a recall, and whoever looks for this part, finds the wrong car.",
	Next:   "Read the number off the part. In the car it is not in, take it out of the record: feedproof remove, or correct the entry.",
	Words:  Words{code.Twice: {"one of the two records is wrong", "read the number off the part, and take it out of the record it is not in"}},
	Judge:  inVisit(judgeTwice),
})

func judgeTwice(c *state.Car) []schema.Finding {
	var found []schema.Finding
	for _, position := range slices.Sorted(maps.Keys(c.Fitted)) {
		f := c.Fitted[position]
		for _, claim := range c.Shop.Claims {
			if !slices.ContainsFunc(f.Data.Serials, func(s string) bool { return strings.EqualFold(s, claim.Serial) }) || !couldBeOne(f.Data, claim) {
				continue
			}
			found = append(found, schema.Finding{
				Rule: "X14", Subject: strings.Join([]string{position, claim.Serial, claim.Vehicle, claim.Position}, " "), Code: code.Twice, Severity: schema.Block, About: "serial " + claim.Serial + ", " + position, Measured: "also in " + claim.Name + ", " + claim.Position,
				Limit: "one thing in one place", Entries: ids(f.Entry),
			})
		}
	}
	return found
}

func couldBeOne(f schema.FitData, claim schema.Claim) bool {
	if f.Part != "" && claim.Part != "" {
		return f.Part == claim.Part
	}
	return state.Unnumbered(f.Position) == state.Unnumbered(claim.Position)
}
