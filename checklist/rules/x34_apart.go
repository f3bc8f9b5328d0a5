package rules

import (
	"cmp"
	"encoding/json"
	"fmt"
	"maps"
	"slices"

	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/code"
)

var _ = register(Rule{
	ID: "X34", Title: "two machines said what only one can say",
	What: "Two plans with different envelopes, two parts fitted in one position, or one hold point closed twice, on two machines that " +
		"had not seen each other's entry.",
	Limits: "one envelope, one part in a position, one closing of a hold point",
	Source: "common practice",
	Means:  "Both entries stay, and the car is judged by the worse of the two until somebody who saw both decides.",
	Next:   "A lead picks: write the plan again knowing both, remove or correct the part that is not there, close the hold point again.",
	Words: Words{
		code.Apart:     {"both stay, and nobody has picked the one that counts", "a lead looks at both; close it again if in doubt"},
		code.Contested: {"both stay, and nobody has picked the one that counts", "a lead picks, and records it again: plan, fit, or correct the one that is wrong"},
	},
	Judge: inVisit(judgeApart),
})

// claimed is what an entry says that only one entry may say at a time.
type claimed struct {
	on    string // plan, place or hold point
	about string // empty: nothing of the kind
	value string // two that are equal do not contradict each other
	hold  bool
}

func judgeApart(c *state.Car) []schema.Finding {
	claims := map[string][]schema.Entry{}
	for _, e := range c.Standing() {
		if claim := claimOf(e); claim.about != "" && c.InVisit(e) {
			claims[claim.about] = append(claims[claim.about], e)
		}
	}
	var found []schema.Finding
	for _, about := range slices.Sorted(maps.Keys(claims)) {
		if a, b, contested := contested(c.Sight, claims[about]); contested {
			found = append(found, apartFinding(claimOf(a), a, b))
		}
	}
	return found
}

// contested finds the last two claims of one thing that did not know of each
// other, say different things, and were settled by no claim that knew both.
func contested(sight *schema.Sight, claims []schema.Entry) (a, b schema.Entry, is bool) {
	heads := slices.DeleteFunc(slices.Clone(claims), func(e schema.Entry) bool {
		return slices.ContainsFunc(claims, func(later schema.Entry) bool { return sight.Saw(later.ID, e.ID) })
	})
	slices.SortFunc(heads, func(a, b schema.Entry) int { return cmp.Or(cmp.Compare(a.Counter, b.Counter), cmp.Compare(a.ID, b.ID)) })
	for _, other := range heads {
		if claimOf(other).value != claimOf(heads[0]).value {
			return heads[0], other, true
		}
	}
	return a, b, false
}

func claimOf(e schema.Entry) claimed {
	switch e.Kind {
	case schema.PlanData{}.EntryKind():
		if d, err := schema.Into[schema.PlanData](e); err == nil {
			envelope, _ := json.Marshal(d.Envelope) // as it was read
			return claimed{on: "plan", about: "the envelope", value: string(envelope), hold: true}
		}
	case schema.FitData{}.EntryKind():
		if d, err := schema.Into[schema.FitData](e); err == nil {
			return claimed{on: d.Position, about: "the " + d.Position, value: fmt.Sprint(d.Part, d.Serials), hold: true}
		}
	case schema.HoldPointData{}.EntryKind():
		if d, _ := schema.Into[schema.HoldPointData](e); d.Action == schema.ClosePoint {
			return claimed{on: d.Point, about: "hold point " + d.Point, value: e.By}
		}
	}
	return claimed{}
}

func apartFinding(claim claimed, before, after schema.Entry) schema.Finding {
	f := schema.Finding{
		Rule: "X34", Subject: claim.on, Code: code.Apart, Severity: schema.Flag, About: claim.about, Limit: "one at a time", Entries: ids(before, after),
		Measured: fmt.Sprintf("by %s on %s, and by %s on %s, which did not know of it", before.By, before.Device, after.By, after.Device),
	}
	if claim.hold {
		f.Severity, f.Code = schema.Hold, code.Contested
	}
	return f
}
