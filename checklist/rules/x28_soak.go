package rules

import (
	"fmt"
	"math"
	"time"

	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/code"
	"feedproof/schema/quantity"
)

const (
	airApart = 15.0 // K
	sameAir  = 12 * time.Hour
)

var _ = register(Rule{
	ID: "X28", Title: "air temperature of the heat soak",
	What:   "The air temperature beside the hot restart against that beside other readings within 12 hours.",
	Limits: "within 15 K: else a note",
	Source: "common practice",
	Means:  "One of them is a slip, or the car was soaked in another place than it was driven in.",
	Next:   "Look at the thermometer; a soak in the cold proves little.",
	Words:  Words{code.Contradicts: {"one is a slip, or the soak was in another place", "look at the thermometer"}},
	Judge:  inVisit(judgeSoak),
})

func judgeSoak(c *state.Car) []schema.Finding {
	soak, _ := c.Last("hot restart")
	cold, ok := airBeside(soak)
	if !ok {
		return nil
	}
	for _, r := range c.Readings {
		air, ok := airBeside(r)
		if !ok || soak.Entry.At.Sub(r.Entry.At).Abs() > sameAir || math.Abs(float64(air-cold)) <= airApart {
			continue
		}
		return []schema.Finding{{
			Rule: "X28", Subject: "hot restart", Code: code.Contradicts, Severity: schema.Note, Values: []schema.Amount{amount("soak", cold), amount("other", air)}, About: "air of the heat soak", Measured: fmt.Sprintf("%s, and %s beside %s", celsius(cold), celsius(air), r.Data.Test),
			Limit: "within 15 K", Entries: ids(r.Entry, soak.Entry),
		}}
	}
	return nil
}

func airBeside(r state.Reading) (t quantity.Temperature, ok bool) {
	if r.Data.Conditions == nil {
		return t, false
	}
	t, err := r.Data.Conditions.AirTemp.SI()
	return t, err == nil
}
