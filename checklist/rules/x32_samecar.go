package rules

import (
	"strings"

	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/code"
)

var _ = register(Rule{
	ID: "X32", Title: "one chassis number in two records",
	What:   "The chassis number of this car stands in another vehicle record too.",
	Limits: "one record for one car",
	Source: "common practice",
	Means:  "One car has two histories, and nobody sees both; or a number was copied wrong.",
	Next:   "Read the number off the car. Correct the wrong one; if it is one car, go on in one record and say so in the other.",
	Words:  Words{code.Twice: {"one car with two histories, or a number copied wrong", "read it off the car, and correct the wrong one"}},
	Judge:  inVisit(judgeSameCar),
})

func judgeSameCar(c *state.Car) []schema.Finding {
	if c.Vehicle.VIN == "" {
		return nil
	}
	var found []schema.Finding
	for _, claim := range c.Shop.Claims {
		if strings.EqualFold(claim.VIN, c.Vehicle.VIN) {
			found = append(found, schema.Finding{
				Rule: "X32", Subject: claim.Vehicle, Code: code.Twice, Severity: schema.Hold, About: "chassis number, " + claim.Name, Measured: c.Vehicle.VIN + " stands in both", Limit: "one record for one car",
				Entries: ids(c.Written()[0]),
			})
		}
	}
	return found
}
