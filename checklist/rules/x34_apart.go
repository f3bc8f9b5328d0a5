package rules

import (
	"encoding/json"
	"fmt"
	"maps"
	"slices"

	"feedproof/checklist/state"
	"feedproof/schema"
)

var _ = register(Rule{
	ID: "X34", Title: "two machines said what only one can say",
	What: "Two plans with different envelopes, two parts fitted in one position, or one hold point closed twice, on two machines that " +
		"did not know of each other: the number of the one entry is no lower than that from which the other machine had counted on by itself.",
	Limits: "one envelope, one part in a position, one closing of a hold point",
	Source: "common practice",
	Means:  "Both entries stay. The later in order counts meanwhile, and nobody has decided that it should.",
	Next:   "A lead picks: write the plan again knowing both, remove or correct the part that is not there, close the hold point again.",
	Judge:  inVisit(judgeApart),
})

// claimed is what an entry says that only one entry may say at a time.
type claimed struct {
	about string // empty: nothing of the kind
	value string // two that are equal do not contradict each other
	hold  bool
}

func judgeApart(c *state.Car) []schema.Finding {
	last := map[string]schema.Entry{}
	runs := map[string]run{}
	contested := map[string]schema.Finding{}
	for _, e := range c.Record.Entries {
		r := runs[e.Device]
		r.next(e)
		runs[e.Device] = r
		claim := claimOf(e)
		if c.TakenBack(e) || !c.InVisit(e) {
			continue
		}
		delete(contested, claim.about) // what was said later, knowing both, settles it
		if before, known := last[claim.about]; known && before.Device != e.Device && before.Counter >= r.from && claimOf(before).value != claim.value {
			contested[claim.about] = apartFinding(claim, before, e)
		}
		last[claim.about] = e
	}
	var found []schema.Finding
	for _, about := range slices.Sorted(maps.Keys(contested)) {
		found = append(found, contested[about])
	}
	return found
}

// run is the entries that a machine wrote one after the other, counting on by itself.
type run struct{ from, last int64 }

func (r *run) next(e schema.Entry) {
	if e.Counter != r.last+1 {
		r.from = e.Counter
	}
	r.last = e.Counter
}

func claimOf(e schema.Entry) claimed {
	switch e.Kind {
	case schema.PlanData{}.EntryKind():
		if d, err := schema.Into[schema.PlanData](e); err == nil {
			envelope, _ := json.Marshal(d.Envelope) // as it was read
			return claimed{about: "the envelope", value: string(envelope), hold: true}
		}
	case schema.FitData{}.EntryKind():
		if d, err := schema.Into[schema.FitData](e); err == nil {
			return claimed{about: "the " + d.Position, value: fmt.Sprint(d.Part, d.Serials), hold: true}
		}
	case schema.HoldPointData{}.EntryKind():
		if d, _ := schema.Into[schema.HoldPointData](e); d.Action == schema.ClosePoint {
			return claimed{about: "hold point " + d.Point, value: e.By}
		}
	}
	return claimed{}
}

func apartFinding(claim claimed, before, after schema.Entry) schema.Finding {
	f := schema.Finding{
		Rule: "X34", Severity: schema.Flag, About: claim.about, Limit: "one at a time", Entries: ids(before, after),
		Measured: fmt.Sprintf("by %s on %s, and by %s on %s, which did not know of it", before.By, before.Device, after.By, after.Device),
		Means:    "both stay, and nobody has picked the one that counts", Next: "a lead looks at both; close it again if in doubt",
	}
	if claim.hold {
		f.Severity, f.Next = schema.Hold, "a lead picks, and records it again: plan, fit, or correct the one that is wrong"
	}
	return f
}
