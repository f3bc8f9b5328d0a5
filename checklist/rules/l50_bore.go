package rules

import (
	"fmt"
	"strings"

	"feedproof/checklist/fittings"
	"feedproof/checklist/planning"
	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/code"
	"feedproof/schema/quantity"
)

var _ = register(Rule{
	ID: "L50", Title: "a part that chokes its line",
	What:    "The smallest bore of each joined part whose bore was typed, against its neighbours', and the speed of the planned flow through it. Stems, banjos and barbs are narrower than their dash number says.",
	Formula: "ratio = bore / bore of the narrowest neighbour; v = Q / (pi d^2 / 4), Q the flow of the feed line",
	Limits:  "from 0.7 of the narrowest neighbour; to 4.5 m/s before the regulator, 1.5 m/s in suction, 3 m/s in return: OK, else FLAG",
	Source:  "velocities: Hydraulic Institute range, as read in secondary sources; return and ratio: common practice",
	Means:   "It costs pressure at full flow, and in suction the fuel boils.",
	Next:    "The next size: measure the bore with a drill shank, do not read it off the dash number.",
	Words:   Words{code.Outside: {"it holds the flow back", "the next size, of the narrow part"}},
	Judge:   inVisit(judgeBore),
})

const chokes = 0.7

func judgeBore(c *state.Car) []schema.Finding {
	narrowest := map[string]quantity.Length{}
	for _, j := range joints(c) {
		for _, side := range []struct {
			position string
			of, next *schema.PartData
		}{{j.position, j.part, j.otherPart}, {j.join.Position, j.otherPart, j.part}} {
			next := boreOf(side.next)
			if boreOf(side.of) == 0 || next == 0 || j.end.Electrical() {
				continue
			}
			if was, ok := narrowest[side.position]; !ok || next < was {
				narrowest[side.position] = next
			}
		}
	}
	var found []schema.Finding
	for _, position := range sortedKeys(narrowest) {
		found = append(found, boreFinding(c, position, boreOf(c.Fitted[position].Part), narrowest[position]))
	}
	return found
}

func boreFinding(c *state.Car, position string, own, neighbour quantity.Length) schema.Finding {
	share := float64(own / neighbour)
	f := schema.Finding{
		Rule: "L50", Subject: position, About: "bore, " + position, Values: []schema.Amount{ratio("ratio", share), amount("bore", own)}, Limits: []schema.Bound{{Name: "ratio", AtLeast: figures(chokes)}},
		Measured: fmt.Sprintf("%s, %.2f of its narrowest neighbour", millimetres(own), share), Limit: "at least 0.7 of its neighbours", Entries: append(ids(c.Fitted[position].Entry), planned(c)...),
	}
	if exceeds(chokes, share) {
		f.Severity = schema.Flag
	}
	if r, err := planning.Compute(c); c.Plan != nil && err == nil {
		v, most := fittings.Velocity(r.Pressures.FeedFlow, own), mostVelocity(position)
		f.Measured += fmt.Sprintf(", %.2f m/s", float64(v))
		f.Limit += fmt.Sprintf(", at most %.1f m/s", float64(most))
		f.Values = append(f.Values, amount("velocity", v))
		if exceeds(float64(v), float64(most)) {
			f.Severity = schema.Flag
		}
	}
	return f
}

// mostVelocity is how fast fuel may go in a place.
func mostVelocity(position string) quantity.Speed {
	switch {
	case strings.Contains(position, "suction") || strings.Contains(position, "pre filter") || strings.Contains(position, "strainer"):
		return 1.5
	case strings.Contains(position, "return"):
		return 3
	}
	return 4.5
}
